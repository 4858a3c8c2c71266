package sim

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
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
