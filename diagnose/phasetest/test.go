package phasetest

import "legwork/diagnose/wiring"

// Test is one phase test: on what, how, and for which CTs. The zero value of
// every field but Service is useful.
type Test struct {
	// Service is what the panel is fed by. Its HighLeg may be NoLeg: then the
	// readings tell which leg stands high.
	Service wiring.Service
	// Dead says that continuity is read on dead conductors, not volts.
	Dead bool
	// Proved says that the tester was proved on a known source (a continuity
	// tester on its own leads) before and after. Without it nothing is settled.
	Proved bool
	// On says where the CTs go; empty is OnMains.
	On Mounting
	// Colours is the colour code of the conductors; empty is none.
	Colours wiring.ColourCode
	// Wires are the colours of the legs' conductors as a person wrote them down,
	// leg 1 first; they go before the code.
	Wires [3]string
}

// Poles is how many poles the voltage taps have: one for each leg, also on a
// three-wire delta, where leg B is the common of both elements.
func (t Test) Poles() int { return t.Service.Legs() }

// Reading is one reading of the tester.
type Reading struct {
	Pair   Pair
	Volts  float64 // AC rms, never below zero; of a live test
	Closed bool    // of a continuity test
}

// again reports whether two readings of one pair say the same.
func (t Test) again(a, b Reading) bool {
	if t.Dead {
		return a.Closed == b.Closed
	}
	off := a.Volts - b.Volts
	return max(off, -off) <= max(t.zeroBelow(), supplyRange*max(a.Volts, b.Volts))
}

// set is the readings that count, and those that a later one set aside.
type set struct{ counts, aside []Reading }

// gather keeps a reading that was taken again where both say the same: two that
// agree are two pieces of evidence. Where they differ the later one stands.
func (t Test) gather(all []Reading) set {
	var s set
	for _, r := range all {
		s = s.with(t, r)
	}
	return s
}

func (s set) with(t Test, r Reading) set {
	next := set{aside: append([]Reading(nil), s.aside...)}
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
func (s set) has(p Pair) bool { return s.times(p) > 0 }

// times is how often a pair was read with the same result.
func (s set) times(p Pair) int {
	n := 0
	for _, r := range s.counts {
		if r.Pair == p {
			n++
		}
	}
	return n
}
