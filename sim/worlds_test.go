package sim

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"legwork/probe/reading"
)

func panelOf(t *testing.T, service string, m Mix, seed uint64) *Site {
	s, err := RandomSite(rand.New(rand.NewPCG(seed, 5)), service, m)
	require.NoError(t, err)
	return s
}

func TestPanelsUnlikeTheUsualOnes(t *testing.T) {
	for seed := range uint64(50) {
		for _, l := range panelOf(t, "120/208Y", AllAt(-55, -20), seed).Panel.Loads {
			require.True(t, l.Lag >= -55 && l.Lag <= -20, l)
		}
		truth := panelOf(t, "277/480Y", Exporting(MixedLoads(), 1.5, 3), seed).Truth()
		require.Negative(t, truth.Power, "it gives back more than it takes")
		s := panelOf(t, "120/208Y", OneWelder(), seed)
		f := s.Panel.Flow(false)
		welder := s.Panel.Loads[len(s.Panel.Loads)-1].Across
		require.Greater(t, f.In(welder.from).RMS(), f.In(Neutral).RMS(), "its current comes back by the other leg")
	}
}

func TestCoarseStepsKeepWholeAmperes(t *testing.T) {
	s := panelOf(t, "120/208Y", MixedLoads(), 3)
	s.Meter.CoarseSteps = true
	for _, c := range s.Read().Channels {
		require.Zero(t, math.Mod(c.Current.Or(0.5), 1))
		require.Zero(t, math.Mod(c.Power.Or(1), 100))
	}
}

func TestMisreadings(t *testing.T) {
	require.InDelta(t, 120.5, wordsExchanged(wordsExchanged(120.5)), 1e-9)
	require.Greater(t, wordsExchanged(87.23), 1e6, "no size of anything")
	for _, m := range Misreadings() {
		s := panelOf(t, "120/208Y", MixedLoads(), 4)
		r := s.Read()
		was := r.Clone()
		found, err := FindMisreading(m.Name)
		require.NoError(t, err)
		found.Apply(&r)
		require.NotEqual(t, was.Channels, r.Channels, m.Name)
	}
	_, err := FindMisreading("none of them")
	require.Error(t, err)
	r := panelOf(t, "120/208Y", MixedLoads(), 4).Read()
	total, power := r.TotalPower.Or(0), r.Channels[1].Power.Or(0)
	m, err := FindMisreading("power times 1000")
	require.NoError(t, err)
	m.Apply(&r)
	require.InDelta(t, 1000*power, r.Channels[1].Power.Or(0), 1e-6)
	require.InDelta(t, 1000*total, r.Number(reading.Point{Quantity: reading.TotalPower}).Or(0), 1e-6)
}
