package evidence

import "slices"

// Earlier is a quantity that broke physics in readings before the last one.
type Earlier struct {
	Fault        // as it was last
	Readings int // in which it did
}

// Of readings one may be spoilt on the way; where more are, what the rest say isn't sure.
// Our choice, no source.
const (
	mostSpoilt  = 0.2 // of the readings
	leastSpoilt = 3
)

// mostEarlier is how many sorts of fault are counted.
const mostEarlier = 16

// tally counts the reading's faults. A power beside a current of another instant breaks
// physics too, where the load changes: those aren't counted.
func (s *Screen) tally() {
	s.n++
	spoilt := false
	for _, f := range s.Faults {
		if f.Kind == BeyondVA || f.Kind == AngleMisfit || f.Kind == Frozen {
			continue
		}
		spoilt = true
		i := slices.IndexFunc(s.earlier, func(e Earlier) bool { return e.Point == f.Point && e.Kind == f.Kind })
		switch {
		case i >= 0:
			s.earlier[i].Fault = f
			s.earlier[i].Readings++
		case len(s.earlier) < mostEarlier:
			s.earlier = append(s.earlier, Earlier{f, 1})
		}
	}
	if spoilt {
		s.spoilt++
	}
}

// Earlier lists what broke physics before the last reading and doesn't now, the most frequent
// first.
func (s *Screen) Earlier() (all []Earlier) {
	for _, e := range s.earlier {
		if !slices.ContainsFunc(s.Faults, func(f Fault) bool { return f.Point == e.Point && f.Kind == e.Kind }) {
			all = append(all, e)
		}
	}
	slices.SortStableFunc(all, func(a, b Earlier) int { return b.Readings - a.Readings })
	return all
}

// Readings is how many were screened.
func (s *Screen) Readings() int { return s.n }

// Spoilt reports that too many readings broke physics for the rest to be sure.
func (s *Screen) Spoilt() bool {
	return s.spoilt >= leastSpoilt && float64(s.spoilt) >= mostSpoilt*float64(s.n)
}
