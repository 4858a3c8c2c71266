package energy

import (
	"math"
	"math/cmplx"

	"legwork/diagnose"
	"legwork/diagnose/internal/flow"
	"legwork/diagnose/wiring"
)

// layout is where a verdict puts the inputs and the CTs: what leads from readings to
// the power of the legs.
type layout struct {
	flow.Supply
	in  [3]complex128 // what the inputs read under the verdict, per unit
	ct  wiring.Arrangement
	has [3]bool // legs with a CT
	// measured says that the verdict leaves open what an input reads, so that rows
	// without the angles of the voltages tell nothing.
	measured bool
}

// drawnFlow is what was measured in W, and the complex power in VA that flows by way
// of each channel's CT: their sum is what truly flowed.
type drawnFlow struct {
	measured float64
	read     [3]complex128 // what each channel makes of it, its real part adding up to measured
	part     [3]complex128
	unsigned bool // only the size of what is reactive is known
	amps     [3]float64
	from     flow.Source // of the voltages, the worst of them
}

// actual is the true power, W: the sum of the real parts. ratio is registered over it.
func (f drawnFlow) actual() float64 { return real(f.part[0] + f.part[1] + f.part[2]) }
func (f drawnFlow) ratio() float64  { return f.measured / f.actual() }

func (f *drawnFlow) add(g drawnFlow) {
	f.measured += g.measured
	f.from = max(f.from, g.from)
	f.unsigned = f.unsigned || g.unsigned
	for k := range f.part {
		f.read[k] += g.read[k]
		f.part[k] += g.part[k]
		f.amps[k] += g.amps[k]
	}
}

// layoutsOf takes a verdict's first explanation and its twins; ok is false where a
// leg isn't measured by one CT, or an input gives its channel no voltage.
func layoutsOf(d diagnose.Result) (all []layout, ok bool) {
	x := d.Explanations[0]
	for _, ct := range append([][]diagnose.CTPlaced{x.CT}, x.Twins...) {
		l, ok := layoutOf(d, ct)
		if !ok {
			return nil, false
		}
		all = append(all, l)
	}
	return all, true
}

func layoutOf(d diagnose.Result, ct []diagnose.CTPlaced) (l layout, ok bool) {
	x := d.Explanations[0]
	s, err := wiring.ParseService(d.Service.Name)
	if err != nil || len(ct) != s.Channels() {
		return l, false
	}
	if s.Kind == wiring.HighLegDelta {
		s.HighLeg = highest(d)
	}
	l.Service, l.Sequence = s, wiring.Forward
	if x.Sequence != nil && *x.Sequence == wiring.Backward.String() {
		l.Sequence = wiring.Backward
	}
	for k, v := range x.Voltage {
		l.State[k], l.Severe[k] = v.State, v.Severe
		l.measured = l.measured || v.State == diagnose.InputShared
		if v.State == diagnose.InputDead || v.State == diagnose.InputNeutralCrossed && x.Sequence == nil {
			return l, false
		}
	}
	l.in = l.Inputs()
	for k, c := range ct {
		if c.Leg == nil || c.Reversed == nil || l.has[*c.Leg-1] {
			return l, false
		}
		l.ct[k] = wiring.CT{Leg: wiring.Leg(*c.Leg), Reversed: *c.Reversed}
		l.has[*c.Leg-1] = true
	}
	return l, true
}

// highest is the leg of the highest voltage.
func highest(d diagnose.Result) wiring.Leg {
	best, most := wiring.NoLeg, 0.0
	for _, c := range d.Channels {
		if v := c.Voltage.Or(0); v > most {
			best, most = wiring.Leg(c.Channel), v
		}
	}
	return best
}

// flowOf puts the currents that the channels read on their legs, and adds up what
// those carry at the voltages that the inputs should read.
func (l *layout) flowOf(row [3]drawn) (f drawnFlow, ok bool) {
	volts, ok := l.voltsOf(row)
	if !ok {
		return f, false
	}
	home, from := l.Home(volts)
	for k := range l.Service.Channels() {
		if row[k].open && l.ct[k].Leg != l.Service.HomeLeg(wiring.Channel(k+1)) {
			return f, false // where it should be depends on the sign
		}
		f.unsigned = f.unsigned || row[k].open
		f.measured += real(row[k].power)
		f.read[k] = row[k].power
		current := cmplx.Conj(row[k].power / volts[k]) // S = V I*, so I = (S/V)*, A
		f.amps[k] = cmplx.Abs(current)
		if l.ct[k].Reversed {
			current = -current
		}
		f.part[k] = l.Through(home, current, int(l.ct[k].Leg)-1, l.has)
		f.from = max(f.from, from[k])
	}
	return f, math.Abs(f.actual()) > 1
}

// voltsOf gives the inputs' voltages as phasors: at their measured angles where
// all are known, else at the verdict's own.
func (l *layout) voltsOf(row [3]drawn) (volts [3]complex128, ok bool) {
	measured := true
	for k := range l.Service.Channels() {
		if !row[k].known {
			return volts, false
		}
		measured = measured && row[k].angle.Known()
	}
	if l.measured && !measured {
		return volts, false
	}
	for k := range l.Service.Channels() {
		at := cmplx.Phase(l.in[k])
		if measured {
			at = row[k].angle.Or(0).Radians()
		}
		volts[k] = cmplx.Rect(row[k].volts, at)
	}
	return volts, true
}
