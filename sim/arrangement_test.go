package sim

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"legwork/probe/reading"
)

// supplyOf is a balanced supply at nominal voltage.
func supplyOf(t testing.TB, service string, q Sequence) *Supply {
	s, err := ParseService(service)
	require.NoError(t, err)
	return NewSupply(s, q)
}

// balanced is a wye with three equal loads to neutral of 1 kW in each leg.
func balanced(t testing.TB, lag float64, q Sequence) *Panel {
	p := &Panel{Supply: supplyOf(t, "120/208Y", q)}
	for i := range 3 {
		p.Loads = append(p.Loads, Load{VA: 1000 / math.Cos(lag*toRadians), Lag: lag, Across: ToNeutral(leg(i))})
	}
	return p
}

// miswired makes mistakes on a wiring that was right.
func miswired(t testing.TB, u *Supply, list string) *Wiring {
	w := RightWiring(u)
	mistakes, err := ParseMistakes(u.Service.Name, list)
	require.NoError(t, err)
	for _, m := range mistakes {
		m.Apply(&w)
	}
	return &w
}

// ideal reads without error, noise or steps.
func ideal(p *Panel, w *Wiring) reading.Reading {
	f := p.Flow(w.NeutralLost)
	return (&Meter{}).Read(&f, w, nil)
}

func registration(p *Panel, w *Wiring) float64 {
	f := p.Flow(w.NeutralLost)
	truth := truthOf(p.Supply, w, &f)
	return truth.Registered / truth.Power
}

func tan(degrees float64) float64 { return math.Tan(degrees * toRadians) }

func requireAngle(t testing.TB, want float64, got reading.Maybe[reading.Angle], about string, args ...any) {
	a, ok := got.Get()
	require.True(t, ok, append([]any{about}, args...)...)
	require.InDelta(t, 0, float64(a.Minus(reading.Degrees(want))), 1e-4, append([]any{about}, args...)...)
}

// What a balanced wye reads follows from theta = phi + 120 s (m - k) + 180 r;
// rows 2 to 4 and the last four stand in any handbook of metering.
func TestBalancedLoadUnderEveryArrangement(t *testing.T) {
	root := math.Sqrt(3) / 2
	for name, x := range map[string]struct {
		mistakes     string
		turns        [3]float64 // theta - phi at ABC
		registration func(phi float64) float64
	}{
		"right":                              {"", [3]float64{0, 0, 0}, func(float64) float64 { return 1 }},
		"CT 1 reversed":                      {"ct1-reversed", [3]float64{180, 0, 0}, func(float64) float64 { return 1. / 3 }},
		"CTs 1 and 2 reversed":               {"ct1-reversed,ct2-reversed", [3]float64{180, 180, 0}, func(float64) float64 { return -1. / 3 }},
		"all reversed":                       {"cts-reversed", [3]float64{180, 180, 180}, func(float64) float64 { return -1 }},
		"CTs 2 and 3 crossed":                {"ct2-ct3-crossed", [3]float64{0, 120, -120}, func(float64) float64 { return 0 }},
		"2 and 3 crossed, both reversed":     {"ct2-ct3-crossed,ct2-reversed,ct3-reversed", [3]float64{0, -60, 60}, func(float64) float64 { return 2. / 3 }},
		"rolled":                             {"cts-rolled", [3]float64{120, 120, 120}, func(p float64) float64 { return -.5 - root*tan(p) }},
		"rolled the other way":               {"cts-rolled-back", [3]float64{-120, -120, -120}, func(p float64) float64 { return -.5 + root*tan(p) }},
		"rolled, all reversed":               {"cts-rolled,cts-reversed", [3]float64{-60, -60, -60}, func(p float64) float64 { return .5 + root*tan(p) }},
		"rolled the other way, all reversed": {"cts-rolled-back,cts-reversed", [3]float64{60, 60, 60}, func(p float64) float64 { return .5 - root*tan(p) }},
	} {
		t.Run(name, func(t *testing.T) {
			for _, phi := range []float64{-25, 0, 30, 45} {
				p := balanced(t, phi, ABC)
				w := miswired(t, p.Supply, x.mistakes)
				for k, c := range ideal(p, w).Channels {
					requireAngle(t, phi+x.turns[k], c.Angle, "phi %g channel %d", phi, k+1)
				}
				require.InDelta(t, x.registration(phi), registration(p, w), 1e-4, "phi %g", phi)
			}
		})
	}
}

// At ACB the two ways of rolling change places.
func TestSequenceTurnsTheRollRound(t *testing.T) {
	forward, backward := balanced(t, 20, ABC), balanced(t, 20, ACB)
	require.InDelta(t, registration(forward, miswired(t, forward.Supply, "cts-rolled")),
		registration(backward, miswired(t, backward.Supply, "cts-rolled-back")), 1e-9)
}

// Lag 45: channels at 45, -15 and -75 degrees, all positive, 0.9107 registered.
func TestMotorsHideACrossedAndReversedPair(t *testing.T) {
	p := balanced(t, 45, ABC)
	w := miswired(t, p.Supply, "ct2-ct3-crossed,ct2-reversed")
	for _, c := range ideal(p, w).Channels {
		require.Positive(t, c.Power.Or(0))
	}
	require.InDelta(t, 0.9107, registration(p, w), 5e-5)
}

// Rolling voltage inputs and CTs alike changes labels, not readings.
func TestRollingBothIsInvisible(t *testing.T) {
	p := balanced(t, 20, ABC)
	w := miswired(t, p.Supply, "cts-rolled")
	w.Inputs = [3]Conductor{LegB, LegC, LegA}
	right := RightWiring(p.Supply)
	a, b := ideal(p, w), ideal(p, &right)
	for k := range a.Channels {
		requireAngle(t, float64(b.Channels[k].Angle.Or(0)), a.Channels[k].Angle, "channel %d", k+1)
		requireAngle(t, float64(b.Channels[k].VoltageAngle.Or(0)), a.Channels[k].VoltageAngle, "channel %d", k+1)
	}
}

// Whoever wires what: 48 arrangements of a wye read 48 different things.
func TestFortyEightArrangementsDiffer(t *testing.T) {
	p := &Panel{Supply: supplyOf(t, "120/208Y", ABC)}
	for i, lag := range []float64{3, 17, 29} {
		p.Loads = append(p.Loads, Load{VA: 1000 * float64(i+1), Lag: lag, Across: ToNeutral(leg(i))})
	}
	seen := map[[6]int]bool{}
	for _, order := range [][3]Conductor{{1, 2, 3}, {1, 3, 2}, {2, 1, 3}, {2, 3, 1}, {3, 1, 2}, {3, 2, 1}} {
		for turned := range 8 {
			w := RightWiring(p.Supply)
			for k := range 3 {
				w.CTs[k].Round, w.CTs[k].Turned = order[k], turned>>k&1 == 1
			}
			var key [6]int
			for k, c := range ideal(p, &w).Channels {
				key[k], key[k+3] = int(c.Power.Or(0)), int(c.Reactive.Or(0))
			}
			seen[key] = true
		}
	}
	require.Len(t, seen, 48)
}

// Reversing twice and crossing twice change nothing, whatever the wiring was.
func TestDoneTwiceIsUndone(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 4))
	for range 200 {
		s, err := RandomSite(rng, Services()[rng.IntN(len(services))], MixedLoads())
		require.NoError(t, err)
		require.NoError(t, s.Mistake(1))
		before := s.Wiring
		n := s.Panel.Supply.Service.Channels()
		twice := []string{"ct1-reversed,ct1-reversed", "cts-reversed,cts-reversed", "vn-v1-crossed,vn-v1-crossed"}
		if n > 1 {
			twice = append(twice, "ct1-ct2-crossed,ct2-ct1-crossed", "v1-v2-crossed,v1-v2-crossed")
		}
		require.NoError(t, s.Make(twice[rng.IntN(len(twice))]))
		require.Equal(t, before, s.Wiring)
	}
}

// The legs bring what the loads take, with the neutral and without it.
func TestEnergyIsConserved(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 5))
	for i := range 500 {
		s, err := RandomSite(rng, Services()[i%len(services)], MixedLoads())
		require.NoError(t, err)
		for _, lost := range []bool{false, true} {
			f := s.Panel.Flow(lost)
			require.InDelta(t, 0, cmplx.Abs(f.Total()-f.Loads), 1e-6*(1+cmplx.Abs(f.Loads)), "%s lost %v", s.Panel.Supply.Service.Name, lost)
			if lost || !s.Panel.Supply.Service.HasNeutral() {
				require.InDelta(t, 0, cmplx.Abs(f.In(Neutral).Fundamental), 1e-6*(1+s.mostAmps()), "%s lost %v", s.Panel.Supply.Service.Name, lost)
			}
		}
	}
}

// A CT round the neutral, its arrow towards the loads as the others', sees what
// comes back.
func TestCTRoundTheNeutral(t *testing.T) {
	p := &Panel{Supply: supplyOf(t, "120", ABC), Loads: []Load{{VA: 1200, Across: ToNeutral(LegA)}}}
	requireAngle(t, 180, ideal(p, miswired(t, p.Supply, "ct1-on-neutral")).Channels[0].Angle, "neutral")
}

func TestCTsThatReadNothing(t *testing.T) {
	for _, list := range []string{"ct2-open", "ct2-shorted"} {
		p := balanced(t, 20, ABC)
		w := miswired(t, p.Supply, list)
		c := ideal(p, w).Channels[1]
		require.Zero(t, c.Current.Or(1), list)
		require.Zero(t, c.Power.Or(1), list)
		f := p.Flow(false)
		require.Equal(t, [3]bool{1: true}, truthOf(p.Supply, w, &f).Dead, list)
		require.InDelta(t, 2./3, registration(p, w), 1e-9, list)
	}
}
