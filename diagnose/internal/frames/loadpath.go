package frames

import "legwork/diagnose/wiring"

// LoadVolts is the voltage across the load.
func (f *Frame) LoadVolts(m int) complex128 {
	if back, ok := f.ReturnLeg(m); ok {
		return f.Leg[m] - f.Leg[back]
	}
	return f.Leg[m]
}

// ReturnLeg is the leg, from 0, that carries the load's current back, if one does.
func (f *Frame) ReturnLeg(m int) (leg int, ok bool) {
	switch {
	case f.Service.Kind != wiring.Delta:
		return 0, false
	case m == 1:
		return 0, true
	}
	return 1, true
}
