package phasetest

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"legwork/diagnose/wiring"
)

// readAdrift is a whole test of rightly fed taps, the neutral of the service at a
// potential, V, of its own.
func readAdrift(test Test, neutral complex128, rng *rand.Rand) (all []Reading) {
	legs := potentials(test.Service)
	at := func(p Point) complex128 {
		if p.Kind == Neutral {
			return neutral
		}
		return legs[p.Number-1]
	}
	for _, p := range test.Plan() {
		volts := cmplx.Abs(at(p.From)-at(p.To)) * (1 + 0.01*rng.NormFloat64())
		all = append(all, Reading{Pair: p, Volts: math.Abs(volts)})
	}
	return all
}

// A neutral that the loads pull away from the middle of the legs stops the test; one that
// stands where it should, or a little beside it, or a reading that slipped, doesn't.
func TestALostNeutralStopsTheTest(t *testing.T) {
	rng := rand.New(rand.NewPCG(11, 26))
	for _, name := range []string{"120/240", "120/208N", "120/208Y", "277/480Y", "230/400Y", "120/240D"} {
		test := testOn(t, name)
		nominal, ways := test.Service.Nominal, 2
		if test.Service.Kind == wiring.HighLegDelta {
			test.Service.HighLeg = 2
			ways = 1 // towards the high leg the other two hardly move
		}
		for range 100 {
			shift := 0.35 + 0.6*rng.Float64()
			toward := potentials(test.Service)[rng.IntN(ways)] / complex(nominal, 0)
			toward /= complex(cmplx.Abs(toward), 0)
			r := test.Judge(readAdrift(test, complex(shift*nominal, 0)*toward, rng))
			require.NotEmpty(t, r.Danger, "%s %.2f: %s", name, shift, r.Summary)
			require.Equal(t, wiring.Undecided, r.Verdict)
			require.Nil(t, r.Next)
			require.Empty(t, append(r.Moves, r.Findings...))

			all := readAdrift(test, complex(0.04*nominal*rng.Float64(), 0)*toward, rng)
			all[rng.IntN(len(all))].Volts *= 0.5
			r = test.Judge(all)
			require.Empty(t, r.Danger, "%s: %s", name, r.Summary)
		}
	}
}

// What is fed from elsewhere isn't called dead.
func TestAnOpenTapThatIsFedBackIsNotDead(t *testing.T) {
	test := testOn(t, "120/208Y")
	for volts, said := range map[string]string{"0.3": "reads like a dead tap", "20": "Pole 1 isn't dead", "90": "Pole 1 isn't dead"} {
		r := test.Judge(readAll(t, test, "1-N "+volts, "A-1 "+volts, "B-1 150", "C-1 150", "2-N 120", "3-N 120"))
		require.Equal(t, "no leg", *r.Poles[0].On)
		require.Contains(t, r.Notes[0], said)
	}
}
