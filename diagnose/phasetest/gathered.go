package phasetest

// again reports whether two readings of one pair say the same.
func (t Test) again(a, b Reading) bool {
	if t.Dead {
		return a.Closed == b.Closed
	}
	off := a.Volts - b.Volts
	return max(off, -off) <= max(t.zeroBelow(), supplyRange*max(a.Volts, b.Volts))
}

// gathered is the readings that count, and those that a later one set aside.
type gathered struct{ counts, aside []Reading }

// gather keeps a reading that was taken again where both say the same: two that
// agree are two pieces of evidence. Where they differ the later one stands.
func (t Test) gather(all []Reading) gathered {
	var s gathered
	for _, r := range all {
		s = s.with(t, r)
	}
	return s
}

func (s gathered) with(t Test, r Reading) gathered {
	next := gathered{aside: append([]Reading(nil), s.aside...)}
	for _, old := range s.counts {
		if old.Pair == r.Pair && !t.again(old, r) {
			next.aside = append(next.aside, old)
			continue
		}
		next.counts = append(next.counts, old)
	}
	next.counts = append(next.counts, r)
	return next
}

// has reports whether a pair was read.
func (s gathered) has(p Pair) bool { return s.times(p) > 0 }

// times is how often a pair was read with the same result.
func (s gathered) times(p Pair) int {
	n := 0
	for _, r := range s.counts {
		if r.Pair == p {
			n++
		}
	}
	return n
}
