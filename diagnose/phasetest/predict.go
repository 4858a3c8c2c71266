package phasetest

// bands lists what a voltmeter may read at a pair under a mapping.
func (t Test) bands(p Pair, m mapping, w *world) []Band {
	from, held := t.potential(p.From, m, w)
	to, heldToo := t.potential(p.To, m, w)
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
func (t Test) potential(p Point, m mapping, w *world) (at []complex128, held bool) {
	i := p.Number - 1
	switch p.Kind {
	case Neutral:
		return []complex128{0}, true
	case Pole:
		switch m[i] {
		case deadPole:
			return nil, false
		case elsewhere:
			return others(t.Service), true
		}
		i = int(m[i])
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

// nets gives the number of the net that a dead point is on: of joined legs, of
// the neutral, or of its own.
func (t Test) net(p Point, m mapping, w *world) int {
	const neutralNet, ownNet = 10, 20
	switch {
	case p.Kind == Neutral:
		return neutralNet
	case p.Kind == Leg:
		return w.joined[p.Number-1]
	case m[p.Number-1] == deadPole:
		return ownNet + p.Number
	}
	return w.joined[m[p.Number-1]]
}

// explains reports whether a mapping in a world lets the tester show that.
func (t Test) explains(r Reading, m mapping, w *world) bool {
	if t.Dead {
		return r.Closed == (t.net(r.Pair.From, m, w) == t.net(r.Pair.To, m, w))
	}
	for _, b := range t.bands(r.Pair, m, w) {
		if b.has(r.Volts) {
			return true
		}
	}
	return false
}

// predicts is the reading that a mapping leads one to expect at a pair.
func (t Test) predicts(p Pair, m mapping, w *world) Reading {
	if t.Dead {
		return Reading{Pair: p, Closed: t.net(p.From, m, w) == t.net(p.To, m, w)}
	}
	return Reading{Pair: p, Volts: t.bands(p, m, w)[0].about()}
}
