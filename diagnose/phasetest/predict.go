package phasetest

// endStates are where the two points of a pair are: the states of the poles among
// them, whatever for a leg or the neutral.
type endStates struct{ from, to state }

// ends gives the states of a pair's poles under a mapping.
func (m mapping) ends(p Pair) endStates {
	return endStates{m.at(p.From), m.at(p.To)}
}

func (m mapping) at(p Point) state {
	if p.Kind != Pole {
		return 0
	}
	return m[p.Number-1]
}

// bands lists what a voltmeter may read at a pair.
func (t Test) bands(p Pair, e endStates, w *world) []Band {
	from, held := t.potential(p.From, e.from, w)
	to, heldToo := t.potential(p.To, e.to, w)
	if !held || !heldToo {
		return t.floating(p, w)
	}
	var all []Band
	for _, a := range from {
		for _, b := range to {
			all = append(all, t.between(a, b))
		}
	}
	return all
}

// potential lists where a point may stand, V; held is false where nothing
// holds it anywhere.
func (t Test) potential(p Point, s state, w *world) (at []complex128, held bool) {
	i := p.Number - 1
	switch p.Kind {
	case Neutral:
		return []complex128{0}, true
	case Pole:
		switch s {
		case deadPole:
			return nil, false
		case elsewhere:
			return others(t.Service), true
		}
		i = int(s)
	}
	return w.legs[i : i+1], true
}

// floating is what a dead tap reads: anything well below what a live one would,
// or to a leg, where a load holds it at the neutral, what the neutral would.
func (t Test) floating(p Pair, w *world) []Band {
	switch {
	case p.To.Kind == Neutral:
		return []Band{{0, floatShare * t.toNeutral()}}
	case p.From.Kind == Leg && hasNeutral(t.Service):
		return []Band{{0, floatShare * t.line(w)}, t.between(w.legs[p.From.Number-1], 0)}
	}
	return []Band{{0, floatShare * t.line(w)}}
}

// net gives the number of the net that a dead point is on: of joined legs, of
// the neutral, or of its own.
func (t Test) net(p Point, s state, w *world) int {
	const neutralNet, ownNet = 10, 20
	switch {
	case p.Kind == Neutral:
		return neutralNet
	case p.Kind == Leg:
		return w.joined[p.Number-1]
	case s == deadPole:
		return ownNet + p.Number
	}
	return w.joined[s]
}

func (t Test) closed(p Pair, e endStates, w *world) bool {
	return t.net(p.From, e.from, w) == t.net(p.To, e.to, w)
}

// explains reports whether the tester may show that in a world.
func (t Test) explains(r Reading, e endStates, w *world) bool {
	if t.Dead {
		return r.Closed == t.closed(r.Pair, e, w)
	}
	for _, b := range t.bands(r.Pair, e, w) {
		if b.has(r.Volts) {
			return true
		}
	}
	return false
}

// predicts is the reading that one expects at a pair.
func (t Test) predicts(p Pair, e endStates, w *world) Reading {
	if t.Dead {
		return Reading{Pair: p, Closed: t.closed(p, e, w)}
	}
	return Reading{Pair: p, Volts: t.bands(p, e, w)[0].about()}
}
