package prior

import (
	"math"
	"math/cmplx"
	"slices"

	"legwork/diagnose/wiring"
)

// TwinSets says which arrangements read alike: set[a] is the lowest number of
// an arrangement that implies the same load angles as a from any readings, the
// legs' loads exchanged. Arrangements that aren't listed have -1.
type TwinSets [Arrangements]int16

// makeTwins compares what every arrangement adds to the load angles. Where the
// sequence isn't known an arrangement stands for both, and two are alike when
// the pairs of both are the same, in either order.
func makeTwins(s wiring.Service, list []Arranged, sequences []wiring.Sequence) *TwinSets {
	var sets TwinSets
	for a := range sets {
		sets[a] = -1
	}
	first := map[string]int16{}
	for i := range list {
		key := twinKey(s, &list[i], sequences)
		if _, seen := first[key]; !seen {
			first[key] = int16(list[i].Number)
		}
		sets[list[i].Number] = first[key]
	}
	return &sets
}

// twinKey is the turns in twelfths of a circle, of every channel under each
// sequence, sorted, after the pair of CTs that share a leg.
func twinKey(s wiring.Service, a *Arranged, sequences []wiring.Sequence) string {
	keys := make([]string, 0, len(sequences))
	for _, q := range sequences {
		e, in := s.LegPhasors(q), s.InputPhasors(q)
		turns := []byte{'0' + byte(a.Same[0]), '0' + byte(a.Same[1])}
		for k, d := range a.Digit {
			turn := byte('-')
			switch {
			case d >= Neutral: // alike to nothing else
				turn = 'A' + byte(d)
			case d >= 0:
				degrees := cmplx.Phase(in[k]/e[d/2])*180/math.Pi + float64(d%2)*180
				turn = 'a' + byte((int(math.Round(degrees/30))+24)%12)
			}
			turns = append(turns, turn)
		}
		keys = append(keys, string(turns))
	}
	slices.Sort(keys)
	return keys[0] + keys[len(keys)-1]
}
