package learn

import (
	"math"
	"slices"

	"legwork/probe/regmap"
)

// How alike the quantities of one meter stand, before its registers are looked at. The
// shares are our choice, no source.

// logSpaced weighs that values have gaps between them: then all of a meter do, by a
// habit that is rare.
func logSpaced(of [classes][]*group, long uint) float64 {
	spaced, close := 0, 0
	for c, groups := range of {
		for _, g := range groups {
			size := 1 + int(long>>c&1)
			switch {
			case g.spaced(size):
				spaced++
			case len(g.of) > 1 && g.stride == size:
				close++
			}
		}
	}
	switch {
	case spaced == 0:
		return 0
	case close == 0:
		return math.Log(0.05)
	}
	return math.Log(0.0005)
}

// logSigned weighs powers that would have to be short: those that only fit without a
// sign have none, and what stands beside them follows their signs by chance.
func logSigned(of [classes][]*group, long uint) float64 {
	log := 0.
	for _, c := range []int{powers, totals} {
		for _, g := range of[c] {
			if long>>c&1 == 1 {
				continue
			}
			if g.typ == regmap.U16 && g.most() > math.MaxInt16 {
				return math.Log(0.02)
			}
			if bothSigns(g) && g.long() {
				log += math.Log(0.02)
			}
		}
	}
	return log
}

// bothSigns reports channels that are above zero and others that are below.
func bothSigns(g *group) bool {
	above := func(s *series) bool { return s.low > 0 }
	below := func(s *series) bool { return s.high < 0 }
	return slices.ContainsFunc(g.of, above) && slices.ContainsFunc(g.of, below)
}

// logAlike weighs that classes are of one length: powers are as long as currents, or
// longer.
func logAlike(of [classes][]*group, long uint) float64 {
	is := func(c int) bool { return long>>c&1 == 1 }
	there := func(c int) bool { return len(of[c]) > 0 }
	log := 0.
	add := func(a, b int, same, longer, shorter float64) {
		switch {
		case !there(a) || !there(b):
		case is(a) == is(b):
			log += math.Log(same)
		case is(b):
			log += math.Log(longer)
		default:
			log += math.Log(shorter)
		}
	}
	add(volts, amps, 0.88, 0.1, 0.02)
	if is(amps) && !is(volts) {
		add(amps, powers, 0.5, 0, 0.5) // such a meter makes each as long as it must be
	} else {
		add(amps, powers, 0.7, 0.22, 0.08)
	}
	add(powers, totals, 0.88, 0.11, 0.01)
	add(volts, factors, 0.95, 0.02, 0.03)
	if is(volts) && of[volts][0].most() < wholeVolts {
		log += math.Log(0.1)
	}
	return log
}

// wholeVolts is below what voltages read in steps finer than a volt: who gives them two
// registers gives them decimals. Our choice, no source.
const wholeVolts = 1000
