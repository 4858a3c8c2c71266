package frames

import (
	"math"

	"legwork/diagnose/internal/gaussian"
	"legwork/diagnose/wiring"
	"legwork/probe/reading"
)

// The neutral lead of the meter, open.
//
// The inputs' own burdens, which are alike, then share the voltage between the legs. On
// 120/240 and on a wye each reads what it would anyhow; on two legs of a wye each reads
// half of the voltage between them, sqrt 3 / 2 of its own, and they are opposite:
//
//	V_1 = (E_1 - E_2) / 2 = -V_2
//
// A supply that low, or another service, is the rival.

const (
	priorOpenNeutral = 0.003 // meters whose neutral lead is open; our choice, no source
	halfOfLine       = 0.866 // sqrt 3 / 2
)

// OpenNeutral is the probability of it, for one service.
func OpenNeutral(r *reading.Reading, s wiring.Service) float64 {
	place, ok := placeOf(s, voltsOf(r))
	if s.Kind != wiring.WyeLegs || !ok {
		return 0
	}
	v := voltagesOf(r, s)
	half, whole := v.apart(180, math.Sqrt(3)), v.apart(120, math.Sqrt(3))
	level := func(want float64) float64 { return gaussian.Line(place.level-want, levelSpread) }
	open := priorOpenNeutral * level(halfOfLine) * place.gaussian(place.place, evenSpread) * half
	sound := level(1) * (place.gaussian(place.place, evenSpread) + unevenShare*place.gaussian(place.place, unevenBy))
	return open / (open + sound*(whole+misdeclaredShare*v.apart(180, 2)) + math.SmallestNonzeroFloat64)
}

// apart is the likelihood of two inputs so many degrees apart, with so much between
// them, per unit: 1 where neither is read.
func (v *voltages) apart(degrees, line float64) float64 {
	var log float64
	if v.angle[0].Known() && v.angle[1].Known() {
		off := v.angle[1].Or(0).Minus(v.angle[0].Or(0)).Abs() - degrees
		log -= misfit(off, angleSpread)
	}
	if x, ok := v.line[0].Get(); ok {
		log -= misfit((x-line)/line, voltageSpread)
	}
	return math.Exp(log)
}
