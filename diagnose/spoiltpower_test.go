package diagnose_test

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"legwork/diagnose"
	"legwork/probe/reading"
	"legwork/sim"
)

// kilns is a reading of the kiln house, with the totals and the neutral's current.
func kilns(t *testing.T) reading.Reading {
	p, err := sim.Open("kiln-house", sim.Options{Seed: 3})
	require.NoError(t, err)
	return p.At(time.Date(2026, 5, 4, 9, 30, 0, 0, time.UTC))
}

func onKilns(r reading.Reading) diagnose.Result {
	return diagnose.Diagnose([]reading.Reading{r}, diagnose.Options{Tables: tables, Service: "120/208Y"})
}

// The channels' scale is wrong, and the total's is right: it isn't the total that is
// called wrong.
func TestPowersAreWrongAndTheirTotalIsRight(t *testing.T) {
	r := kilns(t)
	for k := range r.Channels {
		r.Channels[k].Power = r.Channels[k].Power.Map(func(w float64) float64 { return w / math.Sqrt(3) })
	}
	first := onKilns(r).Explanations[0]
	require.Equal(t, diagnose.CauseMap, first.Cause)
	require.Contains(t, first.Words, "power: multiply its scale by 1.732")
}

// What rests on a map that is in doubt isn't said beside the doubt.
func TestNoRatioBesideAMapInDoubt(t *testing.T) {
	r := kilns(t)
	require.True(t, r.NeutralCurrent.Known())
	v := &r.Channels[1].Voltage
	*v = v.Map(func(v float64) float64 { return 2 * v })
	result := onKilns(r)
	require.Equal(t, diagnose.CauseMap, result.Explanations[0].Cause)
	for _, f := range result.DataFaults {
		require.NotContains(t, f.Fault, "the neutral carries")
	}
}
