package sim

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"legwork/probe/reading"
)

func mixes() map[string]Mix {
	return map[string]Mix{"mixed": MixedLoads(), "motors": MotorLoads(), "heat": HeatLoads(), "light": LightLoads(),
		"capacitors": CapacitorLoads(), "odd": OneOddLoad(), "generating": Generating()}
}

func siteOf(t testing.TB, seed uint64, service string, m Mix) *Site {
	s, err := RandomSite(rand.New(rand.NewPCG(seed, 7)), service, m)
	require.NoError(t, err)
	return s
}

// The same random numbers give the same site, through mistakes, steps and drift.
func TestSitesRepeat(t *testing.T) {
	for name, m := range mixes() {
		read := func() (r []reading.Reading) {
			s := siteOf(t, 11, "120/208Y", m)
			require.NoError(t, s.Mistake(0.5))
			for range 5 {
				s.Step()
				s.Drift()
				r = append(r, s.Read())
			}
			return r
		}
		require.Equal(t, read(), read(), name)
	}
}

// Every service takes every mix, and what is read is finite and known.
func TestSitesOfEveryService(t *testing.T) {
	for name, m := range mixes() {
		for i, service := range Services() {
			for seed := range uint64(20) {
				s := siteOf(t, seed*100+uint64(i), service, m)
				require.NoError(t, s.Mistake(0.5))
				s.Step()
				r := s.Read()
				require.Len(t, r.Channels, s.Panel.Supply.Service.Channels(), "%s %s", name, service)
				require.Equal(t, service, r.Service)
				for _, c := range r.Channels {
					require.True(t, c.Voltage.Known() && c.Current.Known() && c.Power.Known(), "%s %s", name, service)
					require.Less(t, c.Current.Or(0), 5000.0, "%s %s", name, service)
				}
			}
		}
	}
	_, err := RandomSite(rand.New(rand.NewPCG(1, 1)), "12/20Y", MixedLoads())
	require.ErrorContains(t, err, "there are 120/208Y")
}

// A rightly wired site registers what its legs take, but for CT errors.
func TestRightSitesRegisterRight(t *testing.T) {
	for seed := range uint64(200) {
		s := siteOf(t, seed, "230/400Y", MixedLoads())
		truth := s.Truth()
		require.InDelta(t, truth.Power, truth.Registered, 1e-6*math.Abs(truth.Power))
		require.InDelta(t, truth.Power, s.Read().TotalPower.Or(0), 0.05*math.Abs(truth.Power)+5)
		require.Equal(t, [3]int{1, 2, 3}, truth.Pair)
	}
}

func TestSharesOfRandomSites(t *testing.T) {
	const n = 2000
	var backward, wrong, oneTurned, light, loads int
	for seed := range uint64(n) {
		s := siteOf(t, seed, "120/208Y", LightLoads())
		require.NoError(t, s.Mistake(0.4))
		truth := s.Truth()
		loads += len(s.Panel.Loads)
		if truth.Sequence == ACB {
			backward++
		}
		if len(s.Made) > 0 {
			wrong++
		}
		if len(s.Made) == 1 && s.Made[0] != "cts-reversed" && truth.Turned != [3]bool{} {
			oneTurned++
		}
		for _, l := range truth.Legs {
			require.Less(t, l.Current, 3.01)
			if l.Current < 1 {
				light++
				break
			}
		}
	}
	require.InDelta(t, 0.2, float64(backward)/n, 0.03)
	require.InDelta(t, 0.4, float64(wrong)/n, 0.03)
	require.InDelta(t, 0.4*0.36, float64(oneTurned)/n, 0.02)
	require.Greater(t, light, n/5, "legs under 1 A happen")
	require.InDelta(t, 16.5, float64(loads)/n, 0.6)
}

// A bank that is far too large has every leg lead by 60 to 90 degrees, save for
// the rare leg whose own power is backward.
func TestCapacitorBankLeads(t *testing.T) {
	for i, service := range []string{"120/208Y", "120/240", "120/208N", "230"} {
		inside, legs := 0, 0
		for seed := range uint64(200) {
			s := siteOf(t, seed*10+uint64(i), service, CapacitorLoads())
			for _, l := range s.Truth().Legs {
				legs++
				if l.Lag <= -59.9 && l.Lag >= -90.1 {
					inside++
				}
			}
		}
		require.Greater(t, float64(inside), 0.97*float64(legs), service)
	}
}

func TestStepsAndDrift(t *testing.T) {
	s := siteOf(t, 3, "120/208Y", MixedLoads())
	two := 0
	for range 500 {
		before := append([]Load(nil), s.Panel.Loads...)
		s.Step()
		changed := 0
		for i := range before {
			if before[i].Off != s.Panel.Loads[i].Off {
				changed++
			}
		}
		require.LessOrEqual(t, changed, 2)
		require.GreaterOrEqual(t, s.running(), 2)
		two += changed / 2
	}
	require.Positive(t, two)
	before := s.Truth()
	s.Drift()
	after := s.Truth()
	require.NotEqual(t, before.Power, after.Power)
	require.InDelta(t, 1, after.Power/before.Power, 0.05)
}

// Lamps hang on the neutral where there is one; nothing hangs between the high
// leg of a four-wire delta and the neutral, or on a neutral that isn't there.
func TestWhereRandomLoadsHang(t *testing.T) {
	for _, service := range []string{"120/240D", "480D", "120/208Y"} {
		for seed := range uint64(60) {
			s := siteOf(t, seed, service, MixedLoads())
			u := s.Panel.Supply
			for _, l := range s.Panel.Loads {
				if l.Across.to == Neutral {
					require.True(t, u.Service.HasNeutral())
					require.NotEqual(t, u.HighLeg, l.Across.from)
				} else if u.Service.HasNeutral() {
					require.NotEqual(t, Lighting, l.Kind)
				}
			}
		}
	}
}

// The last two loads that are on can't be switched off.
func TestAPanelNeverGoesDark(t *testing.T) {
	s := siteOf(t, 9, "120/208Y", MixedLoads())
	for i := range s.Panel.Loads {
		if !s.Panel.Loads[i].Off {
			s.Switch(i)
		}
	}
	require.Equal(t, 2, s.running())
}

// The odd load is the last, and can be toggled for as long as one likes.
func TestOddLoadToggles(t *testing.T) {
	s := siteOf(t, 3, "120/208Y", OneOddLoad())
	last := len(s.Panel.Loads) - 1
	require.Equal(t, "odd load", s.Panel.Loads[last].Name)
	on := s.Truth().Power
	s.Switch(last)
	off := s.Truth().Power
	s.Switch(last)
	require.NotEqual(t, on, off)
	require.Equal(t, on, s.Truth().Power)
}

// What slips are drawn can be set.
func TestSlipsAreSettable(t *testing.T) {
	for seed := range uint64(50) {
		s := siteOf(t, seed, "120/208Y", MixedLoads())
		s.Slips = Slips{Rolled: 1}
		require.NoError(t, s.Mistake(1))
		require.Contains(t, []string{"cts-rolled", "cts-rolled-back"}, s.Made[0])
	}
}

func BenchmarkSite(b *testing.B) {
	rng := rand.New(rand.NewPCG(1, 2))
	for b.Loop() {
		s, err := RandomSite(rng, "120/208Y", MixedLoads())
		if err != nil || s.Mistake(0.4) != nil {
			b.Fatal(err)
		}
		s.Read()
	}
}
