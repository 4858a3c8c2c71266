package phasetest

import (
	"fmt"
	"math/cmplx"
	"slices"

	"legwork/diagnose/wiring"
)

// A lost neutral of the service.
//
// Legs and taps read rightly against each other, and the neutral stands elsewhere than in
// their middle: wherever the loads pull it. Nothing of the panel is to be measured on then.

// apartBy is how far apart, of nominal, the legs of a sound supply never read to neutral.
// Our choice.
const apartBy = 2 * supplyRange

// toNeutral is what one leg reads to the neutral.
type toNeutral struct {
	reading Reading
	leg     int // from 0
}

// adrift lists the readings to neutral that show it lost; none where nothing does.
func (j *judgement) adrift() toNeutrals {
	if j.t.Dead || !hasNeutral(j.t.Service) {
		return nil
	}
	var rest, to []Reading
	for _, r := range j.set.counts {
		if r.Pair.To.Kind == Neutral {
			to = append(to, r)
		} else {
			rest = append(rest, r)
		}
	}
	y := j.t.tally(rest)
	left := y.left()
	if left.best > oneWrong {
		return nil
	}
	all := y.placed(left, to)
	for n := range y.worlds {
		if y.misses[left.open[0]][n] <= oneWrong && !all.astray(&y.worlds[n], j.t) {
			return nil
		}
	}
	return all
}

type toNeutrals []toNeutral

// placed are the readings to neutral at points that everything else puts on a leg.
func (y *tally) placed(l left, to []Reading) (all toNeutrals) {
	for _, r := range to {
		at := r.Pair.From
		leg, known := at.Number-1, true
		if at.Kind == Pole {
			s := y.mappings[l.open[0]][at.Number-1]
			for _, i := range l.open {
				known = known && (y.cost(i) > l.best || y.mappings[i][at.Number-1] == s)
			}
			leg = int(s)
		}
		if known && leg >= 0 {
			all = append(all, toNeutral{r, leg})
		}
	}
	return all
}

// astray reports legs that stand apart from each other to the neutral, two of them at least
// beyond what the supply gives, yet as far from it as a neutral somewhere between them
// would be: with |E_a - E_b| the voltage between two, |V_a - V_b| <= |E_a - E_b| <= V_a + V_b.
func (all toNeutrals) astray(w *world, t Test) bool {
	off, apart := map[int]bool{}, false
	for _, a := range all {
		if want := t.between(w.legs[a.leg], 0); !want.has(a.reading.Volts) {
			off[a.leg] = true
		}
		for _, b := range all {
			if a.leg == b.leg {
				continue
			}
			line := cmplx.Abs(w.legs[a.leg] - w.legs[b.leg])
			less := a.reading.Volts - b.reading.Volts
			if less > (1+supplyRange)*line || a.reading.Volts+b.reading.Volts < (1-supplyRange)*line {
				return false // one of them was misread
			}
			standard := cmplx.Abs(w.legs[a.leg]) - cmplx.Abs(w.legs[b.leg]) // of a high leg
			apart = apart || less-standard > apartBy*t.toNeutral()
		}
	}
	return len(off) > 1 && apart
}

// stopped turns the result into nothing but a warning.
func (j *judgement) stopped(r *Result, all toNeutrals) {
	var read []string
	for _, a := range all {
		if text := j.t.Write(a.reading); !slices.Contains(read, text) {
			read = append(read, text)
		}
	}
	r.Summary = fmt.Sprintf("The neutral of the service may be lost: the legs are right against each other, and to neutral "+
		"they read %s.", listed(read))
	r.Danger = wiring.KeepAway()
	r.Next, r.Moves, r.CTs, r.Findings = nil, []string{}, []CTPlace{}, []string{}
	r.Verdict, r.Notes = wiring.Undecided, []string{}
}
