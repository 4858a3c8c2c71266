package learn

// explanation joins quantities of the same channels. Its numbers are those of
// the registers: P = V I cos 10^ten.
type explanation struct {
	v          anchor
	i, p       *group
	ten        int
	share      [][]float64 // P over V I, a channel and a round each; nil where nothing flows
	mid        []float64   // its middle over the rounds
	fuzz       []float64   // how coarse a channel's share is
	one        float64     // how much P looks like V I itself
	s, q, pf   *group
	pfTen      int
	ofReactive float64 // how probable q is
	pt, qt     *series
	idle       bool           // a channel has no current, or no voltage
	rivals     []*explanation // of the same currents
	score      float64
	shown      float64    // how well it goes with what was measured, beside the score
	weighed    []weighing // what the score is made of
}

// weighing is one part of a score.
type weighing struct {
	what  string
	score float64
}

func (e *explanation) add(what string, score float64) {
	e.score += score
	e.weighed = append(e.weighed, weighing{what, score})
}

// given is what one weighing gave.
func (e *explanation) given(what string) float64 {
	sum := 0.
	for _, w := range e.weighed {
		if w.what == what {
			sum += w.score
		}
	}
	return sum
}
