package prior

import "legwork/diagnose/wiring"

// The prior of arrangements: how often installers make which mistake. Most
// installations are right, one mistake is likelier than two, and a site where one
// mistake was made is likelier to hold another. An arrangement takes the prior of all
// the ways that lead to it.
//
// Our choices, without a source. The figures after each are those of TestSensitivity: what
// halving, and then doubling, it does.
const (
	priorBackward    = 0.15  // a site whose own sequence is ACB as its inputs are numbered; -0.1 0 +0.4 | 0 0 -0.2
	priorShareCT     = 0.004 // a CT on the conductor of one other CT, each such pair; +0.3 0 +0.1 | 0 +0.1 +0.2
	priorVoltageSwap = 0.022 // two voltage inputs exchanged, each pair; 0 0 -0.2 | -0.1 -0.1 +0.3
	priorVoltageRoll = 0.003 // all three voltage inputs rolled, each direction; +0.2 0 -0.1 | -0.1 0 +0.3
	PriorShareInput  = 0.002 // two voltage inputs on one leg, each pair; none | 0 0 +0.1
	PriorNeutral     = 0.003 // neutral exchanged with a leg, each leg; none
	priorOnNeutral   = 0.01  // one CT on the neutral, any channel and either way round; -0.3 +0.6 -1.4 | +0.4 -0.6 +1.7
)

// care is a sort of installer: how often one CT is reversed, all of them are
// (arrows of mains and branch practice mixed up), one pair of CTs is crossed, or
// all three are rolled one way.
type care struct{ share, reversed, allReversed, crossed, rolled float64 }

var cares = [...]care{
	{0.75, 0.04, 0.02, 0.015, 0.005},
	{0.25, 0.22, 0.17, 0.09, 0.06},
}

// Arrangements numbers every arrangement: in base 8, a digit a channel, channel 1
// lowest; the digit is twice the leg, counted from 0, plus one if reversed. 6 and 7
// are the neutral.
const (
	Digits       = 8
	Neutral      = 6
	Arrangements = Digits * Digits * Digits
)

// ctOf is what a digit stands for.
func ctOf(digit int) wiring.CT {
	return wiring.CT{Leg: wiring.Leg(digit/2 + 1), Reversed: digit%2 == 1}
}

// DigitsOf splits the number of an arrangement.
func DigitsOf(a int) [3]int { return [3]int{a % Digits, a / Digits % Digits, a / (Digits * Digits)} }

// numberOf is the inverse of digitsOf.
func numberOf(d [3]int) int { return d[0] + Digits*(d[1]+Digits*d[2]) }

// EitherWay is the number of an arrangement with a CT on the neutral, whichever way
// round it sits: the work to be done is the same. Others have their own.
func EitherWay(a int) int {
	d := DigitsOf(a)
	for k := range d {
		d[k] = min(d[k], Neutral)
	}
	return numberOf(d)
}

// prior is the probability of each arrangement together with the sequence that
// the inputs would show, for one service. Index 0 is Forward, 1 is Backward.
type prior [2][Arrangements]float64

func SequenceIndex(q wiring.Sequence) int {
	if q == wiring.Backward {
		return 1
	}
	return 0
}

// makePrior sums over what the site's sequence is, how the voltage inputs were
// landed, and how the CTs were.
func makePrior(s wiring.Service) *prior {
	p := &prior{}
	for _, own := range s.Sequences() {
		site := 1.0
		if len(s.Sequences()) == 2 {
			site = 1 - priorBackward
			if own == wiring.Backward {
				site = priorBackward
			}
		}
		for _, v := range inputPlacings(s.Legs()) {
			shown := own
			if v.odd && len(s.Sequences()) == 2 {
				shown = -own
			}
			for _, c := range cares {
				p.add(SequenceIndex(shown), s, scaled{v, c, site * v.p * c.share})
			}
			p.addNeutral(SequenceIndex(shown), s, v, site*v.p)
		}
	}
	return p
}

// scaled is one placing of the inputs by one sort of installer.
type scaled struct {
	inputs placing
	by     care
	weight float64
}

// add adds every placing and polarity of the CTs for one placing of the
// inputs. Legs are named by the inputs on them.
func (p *prior) add(q int, s wiring.Service, w scaled) {
	n := s.Channels()
	var name [3]int
	for input, leg := range w.inputs.leg {
		name[leg] = input
	}
	for _, at := range ctPlacings(s, w.by) {
		for turned := range 1 << n {
			var d [3]int
			for k := range n {
				d[k] = 2*name[at.leg[k]] + turned>>k&1
			}
			p[q][numberOf(d)] += w.weight * at.p * polarityPrior(turned, n, w.by)
		}
	}
}

// addNeutral adds one CT on the neutral, either way round, all others right. With one
// leg alone the neutral carries the same current, turned: that is a reversed CT.
func (p *prior) addNeutral(q int, s wiring.Service, inputs placing, weight float64) {
	n := s.Channels()
	if s.Kind == wiring.Delta || n < 2 {
		return
	}
	var name [3]int
	for input, leg := range inputs.leg {
		name[leg] = input
	}
	for k := range n {
		var d [3]int
		for j := range n {
			d[j] = 2 * name[s.HomeLeg(wiring.Channel(j+1))-1]
		}
		for turned := range 2 {
			d[k] = Neutral + turned
			p[q][numberOf(d)] += weight * priorOnNeutral / float64(2*n)
		}
	}
}

func polarityPrior(turned, n int, c care) float64 {
	p := 1.0
	for k := range n {
		if turned>>k&1 == 1 {
			p *= c.reversed
		} else {
			p *= 1 - c.reversed
		}
	}
	if n == 1 {
		return p
	}
	p *= 1 - c.allReversed
	if turned == 1<<n-1 {
		p += c.allReversed
	}
	return p
}

// ArrangementOf gives a numbered arrangement, with NoLeg where not judged.
func ArrangementOf(number int, judged [3]bool) wiring.Arrangement {
	var a wiring.Arrangement
	for k, d := range DigitsOf(number) {
		if judged[k] {
			a[k] = ctOf(d)
		}
	}
	return a
}
