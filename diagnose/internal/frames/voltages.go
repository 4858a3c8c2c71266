package frames

import (
	"math"
	"math/cmplx"

	"legwork/diagnose/wiring"
	"legwork/probe/reading"
)

// voltages is what a reading says of the voltage inputs, per unit of nominal.
type voltages struct {
	n        int
	size     [3]reading.Value
	angle    [3]reading.Maybe[reading.Angle]
	line     [3]reading.Value // 12, 23, 31
	nominal  float64
	expected [3]float64 // sizes when wired right
}

func voltagesOf(r *reading.Reading, s wiring.Service) voltages {
	v := voltages{n: min(s.Channels(), len(r.Channels)), nominal: s.Nominal}
	for k, in := range s.InputPhasors(wiring.Forward) {
		v.expected[k] = cmplx.Abs(in)
	}
	perUnit := func(x float64) float64 { return math.Abs(x) / s.Nominal }
	for k := range v.n {
		v.size[k] = r.Channels[k].Voltage.Map(perUnit)
		v.angle[k] = r.Channels[k].VoltageAngle
	}
	for i := range v.line {
		v.line[i] = r.LineVoltages[i].Map(perUnit)
	}
	return v
}

// Limits of a voltage, as shares of what the input should read.
const (
	deadBelow = 0.10
	LowBelow  = 0.80
	weakBelow = 0.90
	firmAbove = 1.10
	highAbove = 1.20
)

// inputState grades one input by its size alone.
func inputState(share float64) wiring.InputState {
	switch {
	case share < deadBelow:
		return wiring.InputDead
	case share < weakBelow:
		return wiring.InputLow
	case share > firmAbove:
		return wiring.InputHigh
	}
	return wiring.InputLive
}

func (v *voltages) dead(k int) bool {
	x, ok := v.size[k].Get()
	return ok && x < deadBelow*v.expected[k]
}

// low reports an input that is neither dead nor near its voltage: back-fed.
func (v *voltages) low(k int) bool {
	x, ok := v.size[k].Get()
	return ok && !v.dead(k) && x < LowBelow*v.expected[k]
}

// Spreads with which a healthy service's voltages lie round nominal, and the
// most that a misfit counts. Assumptions of ours: IEC 60038 has +-10 % as the
// range, two standard deviations here.
const (
	voltageSpread = 0.05 // per unit
	angleSpread   = 4.0  // degrees
	worstMisfit   = 9.0  // nats
)

// fit is the likelihood of the voltages under a frame, up to a constant.
func (v *voltages) fit(f *Frame) float64 {
	var log float64
	reference := -1
	for k := range v.n {
		if v.dead(k) || v.low(k) {
			continue
		}
		if x, ok := v.size[k].Get(); ok {
			want := cmplx.Abs(f.Input[k])
			log -= misfit((x-want)/math.Max(want, 0.5), voltageSpread)
		}
		if !v.angle[k].Known() || f.Unmeasured {
			continue
		}
		if reference < 0 {
			reference = k
			continue
		}
		log -= misfit(v.angleOff(f, k, reference), angleSpread)
	}
	return math.Exp(log + v.fitLines(f))
}

// alikeWithin is how far apart, in degrees, angles of one voltage are read.
const alikeWithin = 0.5

// anglesAlike reports angles of two live inputs or more that are all the same.
func (v *voltages) anglesAlike() bool {
	n, first := 0, reading.Angle(0)
	for k := range v.n {
		a, ok := v.angle[k].Get()
		if !ok || v.dead(k) {
			continue
		}
		if n++; n == 1 {
			first = a
		} else if math.Abs(float64(a.Minus(first))) > alikeWithin {
			return false
		}
	}
	return n > 1
}

// AnglesAlike reports the same of a reading.
func AnglesAlike(r *reading.Reading, s wiring.Service) bool {
	v := voltagesOf(r, s)
	return v.anglesAlike()
}

// angleOff is by how many degrees the angle of input k is off, as seen from a reference.
func (v *voltages) angleOff(f *Frame, k, reference int) float64 {
	seen := v.angle[k].Or(0).Minus(v.angle[reference].Or(0))
	want := reading.Radians(cmplx.Phase(f.Input[k] / f.Input[reference]))
	return float64(seen.Minus(want))
}

func (v *voltages) fitLines(f *Frame) float64 {
	var log float64
	for i := range v.line {
		j := (i + 1) % 3
		x, ok := v.line[i].Get()
		if !ok || i >= v.n || j >= v.n || v.dead(i) || v.dead(j) || v.low(i) || v.low(j) {
			continue
		}
		want := cmplx.Abs(f.Input[i] - f.Input[j])
		log -= misfit((x-want)/math.Max(want, 0.5), voltageSpread)
	}
	return log
}

func misfit(off, spread float64) float64 {
	z := off / spread
	return math.Min(z*z/2, worstMisfit)
}

// grade sets the state of every input and whether it can be stood on. A
// back-fed input can only where its angle was measured.
func (v *voltages) grade(f *Frame) {
	for k := range v.n {
		x, ok := v.size[k].Get()
		if !ok { // nothing is known of it, so its channel has nothing to stand on
			f.Usable[k], f.State[k] = false, wiring.InputUnknown
			continue
		}
		state := inputState(x / v.expected[k])
		f.Usable[k] = state != wiring.InputDead
		if v.low(k) {
			f.Usable[k] = v.standOnMeasured(f, k)
		}
		if f.State[k] == "" {
			f.State[k] = state
		}
		f.Severe[k] = v.severe(f, k)
	}
}

// severe reports an input below 80 % or above 120 % of what the frame says it reads.
func (v *voltages) severe(f *Frame, k int) bool {
	x, ok := v.size[k].Get()
	if !ok {
		return false
	}
	want := cmplx.Abs(f.Input[k])
	if v.low(k) || v.dead(k) {
		want = v.expected[k]
	}
	return x < LowBelow*want || x > highAbove*want
}

// standOnMeasured replaces the input's phasor by the measured one, where the
// angle of it and of a sound input are known.
func (v *voltages) standOnMeasured(f *Frame, k int) bool {
	if !v.angle[k].Known() {
		return false
	}
	for reference := range v.n {
		if reference == k || v.dead(reference) || v.low(reference) || !v.angle[reference].Known() {
			continue
		}
		turn := v.angle[k].Or(0).Minus(v.angle[reference].Or(0))
		size := complex(v.size[k].Or(0), 0)
		f.Input[k] = f.Input[reference] / complex(cmplx.Abs(f.Input[reference]), 0) * cmplx.Rect(1, turn.Radians()) * size
		return true
	}
	return false
}
