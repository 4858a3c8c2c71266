package learn

import (
	"math"
	"slices"

	"legwork/probe/reading"
)

// What meters' registers are worth, as probabilities by power of ten. Our
// choice, no source; made flatter where they are used.
var (
	amperes = map[int]float64{-4: 0.01, -3: 0.35, -2: 0.35, -1: 0.2, 0: 0.08, 1: 0.01}
	watts   = map[int]float64{-3: 0.04, -2: 0.08, -1: 0.2, 0: 0.42, 1: 0.15, 2: 0.06, 3: 0.05}
)

// views spreads explanations over the powers of ten that their currents can
// have, and weighs them by what was measured, with signs. Weights add up to one.
func views(all []*explanation, signed []Measured) []*view {
	var out []*view
	measured := sizes(signed)
	for _, e := range all {
		for ampere := -4; ampere <= 1; ampere++ {
			v := &view{explanation: e, ampere: ampere}
			v.weight = e.score + v.logScale() + v.logShown(measured)
			switch most := measuredTo(measured); {
			case most == 1 && len(e.v.of) > 1:
				v.weight -= 5 // the first of more may be all that was measured
			case most > 0 && len(e.v.of) > most:
				v.weight -= 14
			}
			if slices.ContainsFunc(signed, v.lacksMinus) {
				v.weight += logMinus
			}
			out = append(out, v)
		}
	}
	normalise(out, measured)
	return out
}

// logMinus is how likely a minus is typed where there is none. Our choice, no source.
var logMinus = math.Log(0.02)

// somethingElse is the score of all that isn't thought of, in a meter that holds
// no such quantities or holds them in another way. Set by the bench of layouts.
const somethingElse = 7.5

func (v *view) logScale() float64 {
	if watt := v.watt(); !v.p.float() && (watt < -3 || watt > 3) {
		return -30
	}
	if v.i.float() {
		if v.ampere == 0 {
			return -0.01
		}
		return -7
	}
	current := v.i.most() * math.Pow10(v.ampere)
	size := math.Log(math.Max(current, 1e-3)/30) / 2.5
	return 0.6*(math.Log(amperes[v.ampere]+1e-4)+math.Log(watts[v.watt()]+1e-4)) - size*size/2
}

// normalise makes probabilities of weights. Whatever an instrument shows may be
// under something else.
func normalise(all []*view, measured []Measured) {
	slices.SortStableFunc(all, func(a, b *view) int {
		switch {
		case a.weight > b.weight:
			return -1
		case a.weight < b.weight:
			return 1
		}
		return 0
	})
	if len(all) == 0 {
		return
	}
	sum := math.Exp(somethingElse + float64(len(measured))*math.Log(1./8) - all[0].weight)
	for i := len(all) - 1; i >= 0; i-- {
		sum += math.Exp(all[i].weight - all[0].weight)
	}
	top := all[0].weight
	for _, v := range all {
		v.log, v.weight = v.weight, math.Exp(v.weight-top)/sum
	}
}

// besideVolts is the score of all that isn't thought of beside voltages that are
// right. Set by the bench of layouts.
const besideVolts = 1.5

// againstElsewhere is the probability of a view's currents and powers, beside that
// only its voltages are right and an instrument shows what stands elsewhere.
func (v *view) againstElsewhere(measured []Measured) float64 {
	other := func(m Measured) bool { return m.Point.Quantity != reading.Voltage }
	volts := slices.DeleteFunc(slices.Clone(measured), other)
	elsewhere := besideVolts + v.v.score + v.logShown(volts) + float64(len(measured)-len(volts))*math.Log(1./8)
	return 1 / (1 + math.Exp(elsewhere-v.log))
}
