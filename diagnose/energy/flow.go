package energy

import (
	"math"
	"math/cmplx"

	"legwork/diagnose"
	"legwork/diagnose/wiring"
)

// layout is where a verdict puts the CTs: what leads from readings to the power
// of the legs.
type layout struct {
	service wiring.Service
	in      [3]complex128 // the inputs' voltages, of which only the angles are used
	leg     [3]int        // of each channel's CT, from 0
	home    [3]int        // on which the CT of each channel belongs, from 0
	turned  [3]bool
}

// flow is what was measured in W, and the complex power in VA that flows by way
// of each channel's CT: their sum is what truly flowed.
type flow struct {
	measured float64
	part     [3]complex128
	amps     [3]float64
}

func (f flow) actual() float64 { return real(f.part[0] + f.part[1] + f.part[2]) }
func (f flow) ratio() float64  { return f.measured / f.actual() }

func (f *flow) add(g flow) {
	f.measured += g.measured
	for k := range f.part {
		f.part[k] += g.part[k]
		f.amps[k] += g.amps[k]
	}
}

// layoutsOf takes a verdict's first explanation and its twins; ok is false where
// an input isn't live, or a leg isn't measured by one CT.
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
	for _, v := range x.Voltage {
		if v.State != diagnose.InputLive && v.State != diagnose.InputLow && v.State != diagnose.InputHigh {
			return l, false
		}
	}
	if s.Kind == wiring.HighLegDelta {
		s.HighLeg = highest(d)
	}
	q := wiring.Forward
	if x.Sequence != nil && *x.Sequence == wiring.Backward.String() {
		q = wiring.Backward
	}
	l = layout{service: s, in: s.InputPhasors(q)}
	var taken [3]bool
	for k, c := range ct {
		if c.Leg == nil || c.Reversed == nil || taken[*c.Leg-1] {
			return l, false
		}
		l.leg[k], l.turned[k], l.home[k] = *c.Leg-1, *c.Reversed, int(s.HomeLeg(wiring.Channel(k+1)))-1
		taken[l.leg[k]] = true
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

// flowOf puts the currents that the channels read on their legs, and adds up
// what those carry at the voltages of the inputs (Blondel: with one wire as the
// common point, one element fewer than wires is enough).
func (l *layout) flowOf(row [3]drawn) (f flow, ok bool) {
	volts, ok := l.voltsOf(row)
	if !ok {
		return f, false
	}
	for k := range l.service.Channels() {
		f.measured += real(row[k].power)
		current := cmplx.Conj(row[k].power / volts[k])
		f.amps[k] = cmplx.Abs(current)
		if l.turned[k] {
			current = -current
		}
		for j := range l.service.Channels() {
			f.part[k] += volts[j] * cmplx.Conj(current*complex(l.share(k, l.home[j]), 0))
		}
	}
	return f, math.Abs(f.actual()) > 1
}

// share of a channel's current that flows in a leg: all of it in the leg its CT
// is on; on a three-wire delta the leg without a CT carries the others' back.
func (l *layout) share(k, leg int) float64 {
	switch {
	case l.leg[k] == leg:
		return 1
	case l.service.Kind == wiring.Delta && l.leg[0] != leg && l.leg[1] != leg:
		return -1
	}
	return 0
}

// voltsOf gives the inputs' voltages as phasors: at their measured angles where
// all are known, else at the service's own.
func (l *layout) voltsOf(row [3]drawn) (volts [3]complex128, ok bool) {
	measured := true
	for k := range l.service.Channels() {
		if !row[k].known {
			return volts, false
		}
		measured = measured && row[k].angle.Known()
	}
	for k := range l.service.Channels() {
		at := cmplx.Phase(l.in[k])
		if measured {
			at = row[k].angle.Or(0).Radians()
		}
		volts[k] = cmplx.Rect(row[k].volts, at)
	}
	return volts, true
}
