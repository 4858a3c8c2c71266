package estimate

import (
	"testing"

	"github.com/stretchr/testify/require"

	"legwork/diagnose/energy"
)

// Every way to a question names its flag where it fails.
func TestQuestionsOfAPerson(t *testing.T) {
	pf, err := ParsePowerFactor("0.9")
	require.NoError(t, err)
	sequence, err := ParseSequence("acb")
	require.NoError(t, err)
	load := Load{PowerFactor: pf, Sequence: sequence}

	q, err := load.Question(1000, "", "ct 1 reversed")
	require.NoError(t, err)
	require.Equal(t, "balanced, power factor 0.9, 120/208Y ACB", q.Conditions)
	require.InDelta(t, 1.0/3, q.Registration.Best, 1e-9, "two of three equal legs less one")
	_, err = load.Question(1000, "120/240", "ct 3 reversed")
	require.ErrorContains(t, err, "--assume ")
	require.ErrorContains(t, err, "120/240 has no channel 3")

	_, err = Stated(1000, energy.Registration{Best: 0.5, Low: 0.6, High: 0.7})
	require.ErrorContains(t, err, "--registration: ")
	_, err = ParseSequence("BCA")
	require.EqualError(t, err, `"BCA" is not ABC or ACB`)
	require.Zero(t, FaultFound(nil))
}
