package phasetest

import "legwork/diagnose/wiring"

// Plan lists the readings of a whole test, in the order of a walk through the
// panel: on dead conductors first that the legs are apart; then for each pole
// whether the tap is live, and every leg.
func (t Test) Plan() []Pair {
	var all []Pair
	n := t.Service.Legs()
	for i := 1; t.Dead && i <= n; i++ {
		for j := i + 1; j <= n; j++ {
			all = append(all, Pair{Point{Leg, i}, Point{Leg, j}})
		}
	}
	for k := 1; k <= t.Poles(); k++ {
		if !t.Dead && hasNeutral(t.Service) {
			all = append(all, tap(k))
		}
		for m := 1; m <= n; m++ {
			all = append(all, cross(m, k))
		}
	}
	return all
}

// missing lists the readings of the plan that weren't taken.
func (t Test) missing(s gathered) []Pair {
	var all []Pair
	for _, p := range t.Plan() {
		if !s.has(p) {
			all = append(all, p)
		}
	}
	return all
}

// Expected is what a voltmeter should read at a pair of the plan.
type Expected struct {
	Pair    string  `json:"pair"`
	Leg     *string `json:"leg"`     // null for a tap to neutral, or two legs
	Pole    *int    `json:"pole"`    // null for two legs
	Same    *Band   `json:"same"`    // V if the pole is on that leg; null where it doesn't apply
	Another *Band   `json:"another"` // V if it is on another leg of the service; null where there is none
	Nominal []Band  `json:"nominal"` // V of a live tap to neutral; two of a four-wire delta, the high leg's second
	Closed  *bool   `json:"closed"`  // of a dead test: what the same leg, or two legs that are apart, should show
}

// Expected lists what the readings of the plan should be.
func (t Test) Expected() []Expected {
	var all []Expected
	for _, p := range t.Plan() {
		all = append(all, t.expected(p))
	}
	return all
}

func (t Test) expected(p Pair) Expected {
	e := Expected{Pair: PairName(t.Service, p)}
	if p.From.Kind == Leg && p.To.Kind == Pole {
		name, pole := LegName(t.Service, p.From.Number), p.To.Number
		e.Leg, e.Pole = &name, &pole
	} else if p.From.Kind == Pole {
		pole := p.From.Number
		e.Pole = &pole
	}
	if t.Dead {
		closed := p.To.Kind == Pole
		e.Closed = &closed
		return e
	}
	t.expectVolts(&e, p)
	return e
}

func (t Test) expectVolts(e *Expected, p Pair) {
	w := t.worlds()[0]
	if p.To.Kind == Neutral {
		e.Nominal = []Band{t.between(complex(t.toNeutral(), 0), 0)}
		if t.Service.Kind == wiring.HighLegDelta {
			e.Nominal = append(e.Nominal, t.between(w.legs[max(w.high, 1)-1], 0))
		}
		return
	}
	same := Band{0, t.zeroBelow()}
	e.Same = &same
	if t.Service.Legs() > 1 {
		another := t.between(complex(t.line(&w), 0), 0)
		e.Another = &another
	} else {
		low, high := t.between(others(t.Service)[0], w.legs[0]), t.between(others(t.Service)[1], w.legs[0])
		e.Another = &Band{low.Low, high.High}
	}
}
