package phasetest

import (
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"legwork/diagnose/wiring"
)

// extra is how many readings beyond the plan a service wants: where a single
// wrong one could not be seen, a second.
func (b *bench) extra() int {
	switch {
	case b.t.Dead:
		return b.t.Poles() // each closed one twice
	case b.t.Service.Kind == wiring.TwoWire:
		return 2 // both
	case b.t.Service.Kind == wiring.WyeLegs:
		return 2 // each 0 V: the third leg of the wye reads like it but for that
	}
	return 0
}

// Every mapping of poles to legs is found from the whole plan.
func TestEveryMappingIsFound(t *testing.T) {
	for _, b := range benches() {
		require.LessOrEqual(t, b.settle(t, b.plan()), b.extra(), "%s %v", b.t.Service.Name, b.on)
	}
}

// With one reading missing, the one that settles it is asked for; nothing but
// the readings that are wanted anyhow comes on top.
func TestEveryMappingWithOneReadingMissing(t *testing.T) {
	if testing.Short() {
		t.Skip("long, and of one goroutine")
	}
	t.Parallel()
	for _, b := range benches() {
		whole := b.plan()
		for n := range whole {
			fewer := slices.Delete(slices.Clone(whole), n, n+1)
			require.LessOrEqual(t, b.settle(t, fewer), b.extra()+1, "%s %v without %s", b.t.Service.Name, b.on,
				b.t.Write(whole[n]))
		}
	}
}

// A missing reading is itself asked for, where the rest is settled but for it.
func TestTheMissingReadingIsAskedFor(t *testing.T) {
	asked := 0
	for _, b := range benches() {
		if b.extra() > 0 {
			continue
		}
		whole := b.plan()
		for n, r := range whole {
			got := b.t.Judge(slices.Delete(slices.Clone(whole), n, n+1))
			if got.Verdict == wiring.Undecided {
				asked++
				require.Equal(t, PairName(b.t.Service, r.Pair), got.Next.Pair, "%s %v", b.t.Service.Name, b.on)
				require.True(t, got.Next.Settles)
			}
		}
	}
	require.Greater(t, asked, 2000, "the test must reach readings that are asked for")
}

// With one wrong reading nothing false is ever settled, and answering what is
// asked ends at the truth.
func TestEveryMappingWithOneReadingWrong(t *testing.T) {
	if testing.Short() {
		t.Skip("long, and of one goroutine")
	}
	t.Parallel()
	longest := 0
	for _, b := range benches() {
		whole := b.plan()
		for n := range whole {
			for _, wrong := range b.wrongs(whole[n]) {
				readings := slices.Clone(whole)
				readings[n] = wrong
				took := b.settle(t, readings)
				longest = max(longest, took-b.extra())
				require.LessOrEqual(t, took, b.extra()+3, "%s %v with %s", b.t.Service.Name, b.on, b.t.Write(wrong))
			}
		}
	}
	t.Logf("at most %d readings beyond the plan", longest)
}

// One reading missing and another one wrong.
func TestEveryMappingWithOneMissingAndOneWrong(t *testing.T) {
	if testing.Short() {
		t.Skip("long, and of one goroutine")
	}
	t.Parallel()
	settled := 0
	for _, b := range benches() {
		whole := b.plan()
		for n := range whole {
			for m := range whole {
				if n == m || !first(b.t.Service) {
					continue
				}
				wrongs := b.wrongs(whole[m])
				readings := slices.Clone(whole)
				readings[m] = wrongs[(n+m)%len(wrongs)]
				r := b.t.Judge(slices.Delete(readings, n, n+1))
				b.honest(t, r)
				if r.Verdict != wiring.Undecided {
					settled++
				}
			}
		}
	}
	require.GreaterOrEqual(t, settled, 4, "the test must reach settled results")
}

// Any part of the readings, some taken twice, one of them wrong.
func TestNoPartOfTheReadingsMisleads(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 8))
	all := benches()
	settled := 0
	for range 4000 {
		b := all[rng.IntN(len(all))]
		var readings []Reading
		for _, r := range b.plan() {
			for range min(2, rng.IntN(8)) { // none at one in eight, else once or twice
				readings = append(readings, r)
			}
		}
		if len(readings) > 0 && rng.IntN(4) > 0 {
			n := rng.IntN(len(readings))
			wrongs := b.wrongs(readings[n])
			readings[n] = wrongs[rng.IntN(len(wrongs))]
		}
		rng.Shuffle(len(readings), func(i, j int) { readings[i], readings[j] = readings[j], readings[i] })
		r := b.t.Judge(readings)
		b.honest(t, r)
		if r.Verdict != wiring.Undecided {
			settled++
		}
	}
	require.Greater(t, settled, 500, "the test must reach settled results")
}

// Dead poles, and legs that aren't among those of the panel.
func TestDeadPolesAndLegsElsewhere(t *testing.T) {
	if testing.Short() {
		t.Skip("long, and of one goroutine")
	}
	t.Parallel()
	for _, s := range wiring.Services() {
		if !first(s) {
			continue
		}
		places := append(legs(s), 0)
		if s.Kind == wiring.WyeLegs || s.Kind == wiring.TwoWire {
			places = append(places, -1)
		}
		for _, on := range ways(s.Legs(), places...) {
			b := benchOf(s, on...)
			whole := b.plan()
			b.settle(t, whole)
			for n := range whole {
				for _, wrong := range b.wrongs(whole[n]) {
					readings := slices.Clone(whole)
					readings[n] = wrong
					b.settle(t, readings)
				}
			}
		}
	}
}

// A dead tap that floats, or that a load holds at the neutral, is never put on a leg.
func TestAFloatingTapIsOnNoLeg(t *testing.T) {
	for _, s := range wiring.Services() {
		v := published[s.Name]
		b := benchOf(s, ways(s.Legs(), 1, 2, 3)[0]...)
		for n := range b.on {
			b.on[n] = n + 1
		}
		b.on[0] = 0
		for _, share := range []float64{0, 0.1, 0.3, 0.5, 0.57} {
			var readings []Reading
			for _, r := range b.plan() {
				if r.Pair.touches(1) && r.Pair.From.Kind == Leg {
					r.Volts = share * v.line
					if s.Legs() == 1 {
						r.Volts = share * v.neutral // no other leg is near
					}
				} else if r.Pair.touches(1) {
					r.Volts = share * v.neutral
				}
				readings = append(readings, r)
			}
			r := b.t.Judge(append(readings, readings...))
			b.honest(t, r)
			require.Equal(t, wiring.Fault, r.Verdict, "%s at %g of the line voltage", s.Name, share)
		}
	}
}

// The high leg may be any, declared or not.
func TestTheHighLegIsFoundFromTheTaps(t *testing.T) {
	s, err := wiring.ParseService("120/240D")
	require.NoError(t, err)
	for high := 1; high <= 3; high++ {
		for _, declared := range []bool{false, true} {
			for _, on := range ways(3, 1, 2, 3) {
				b := benchOf(s, on...)
				b.high = high
				if declared {
					b.t.Service.HighLeg = wiring.Leg(high)
				}
				require.Zero(t, b.settle(t, b.plan()))
				if r := b.t.Judge(b.plan()); r.HighLeg != nil {
					require.Equal(t, LegName(s, high), *r.HighLeg)
				} else {
					require.NotContains(t, on, high, "a tap on the high leg shows it")
				}
			}
		}
	}
}

// Legs that a load joins read closed together: nothing is settled.
func TestLegsThatALoadJoins(t *testing.T) {
	s, err := wiring.ParseService("120/208Y")
	require.NoError(t, err)
	for _, on := range ways(3, 1, 2, 3) {
		b := benchOf(s, on...)
		b.t.Dead = true
		net := func(p Point) int { return min(b.leg(p), 2) } // legs 2 and 3 joined
		var readings []Reading
		for _, p := range b.t.Plan() {
			r := Reading{Pair: p, Closed: net(p.From) == net(p.To)}
			readings = append(readings, r, r)
		}
		r := b.t.Judge(readings)
		b.honest(t, r)
		if slices.Contains(on, 2) || slices.Contains(on, 3) {
			require.Equal(t, wiring.Undecided, r.Verdict)
			require.Contains(t, r.Notes, "B-C is closed: a load or a transformer joins them; open it, and begin again")
		}
	}
}

// Any part of the readings of a panel where a load joins two legs, one reading
// wrong: what isn't isolated must not be taken for a leg of its own.
func TestNoPartOfTheReadingsOfJoinedLegsMisleads(t *testing.T) {
	if testing.Short() {
		t.Skip("long, and of one goroutine")
	}
	s, err := wiring.ParseService("120/208Y")
	require.NoError(t, err)
	rng := rand.New(rand.NewPCG(3, 4))
	settled := 0
	for range 20000 {
		b := benchOf(s, 1+rng.IntN(3), 1+rng.IntN(3), 1+rng.IntN(3))
		b.t.Dead = true
		apart := 1 + rng.IntN(3) // the leg that isn't joined to another
		net := func(p Point) bool { return b.leg(p) == apart }
		var readings []Reading
		for _, p := range b.t.Plan() {
			for range rng.IntN(3) {
				readings = append(readings, Reading{Pair: p, Closed: net(p.From) == net(p.To)})
			}
		}
		if len(readings) > 0 {
			readings[rng.IntN(len(readings))].Closed = rng.IntN(2) == 0
		}
		r := b.t.Judge(readings)
		b.honest(t, r)
		if r.Verdict != wiring.Undecided {
			settled++
		}
	}
	require.Greater(t, settled, 10, "the test must reach settled results")
}

// Without a tester that was proved, and without a tap seen live, nothing counts.
func TestProofOfTesterAndTap(t *testing.T) {
	for _, b := range benches() {
		b.t.Proved = false
		require.Equal(t, wiring.Undecided, b.t.Judge(b.plan()).Verdict)
	}
	s, _ := wiring.ParseService("120/208Y")
	b := benchOf(s, 1, 2, 3)
	var crossOnly []Reading
	for _, r := range b.plan() {
		if r.Pair.To.Kind == Pole {
			crossOnly = append(crossOnly, r)
		}
	}
	r := b.t.Judge(crossOnly)
	require.Equal(t, wiring.Undecided, r.Verdict)
	require.Equal(t, "1-N", r.Next.Pair)
	require.Nil(t, r.Poles[0].On)
	require.Contains(t, r.Summary, "if the taps are live")
}
