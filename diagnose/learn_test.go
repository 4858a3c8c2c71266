package diagnose_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"legwork/diagnose"
	"legwork/probe/reading"
)

// A test that is told later weighs as much as one told at the start.
func TestSawIsSeen(t *testing.T) {
	seen, err := diagnose.ParseFinding("leg 1 on: channel 2 up")
	require.NoError(t, err)
	r := splitPhase()
	early := diagnose.New(diagnose.Options{Tables: tables, Findings: []diagnose.Finding{seen}})
	early.Add(r)
	late := diagnose.New(diagnose.Options{Tables: tables})
	late.Add(r)
	before := late.Result()
	late.Learn(seen)
	require.Equal(t, early.Result(), late.Result())
	require.NotEqual(t, before.Explanations[0].Probability, late.Result().Explanations[0].Probability)
}

// What these readings show is no standing caution.
func TestStandingCautions(t *testing.T) {
	r := sound()
	r.Channels[1].Current, r.Channels[1].Power, r.Channels[1].Reactive = reading.Known(0.0), reading.Known(0.0), reading.Known(0.0)
	r.Channels[1].Angle = reading.Maybe[reading.Angle]{}
	all := diagnose.Diagnose([]reading.Reading{r}, diagnose.Options{Tables: tables}).Cautions
	require.Greater(t, len(all), 1)
	require.Contains(t, all[0], "may be open")
	require.False(t, diagnose.Standing(all[0]))
	for _, c := range all[1:] {
		require.True(t, diagnose.Standing(c), c)
	}
}
