package diagnose_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"legwork/diagnose"
	"legwork/probe/reading"
)

// A person's test that says otherwise is never outvoted in silence.
func TestATestThatContradictsIsAskedForAgain(t *testing.T) {
	for _, said := range []string{"ct 2 arrow wrong", "ct 2 on leg 3", "leg 2 on: channel 2 down", "leg 1 on: nothing",
		"input 1 to input 2: 0 V"} {
		f, err := diagnose.ParseFinding(said)
		require.NoError(t, err)
		r := diagnose.Diagnose([]reading.Reading{sound()}, diagnose.Options{Tables: tables, Findings: []diagnose.Finding{f}})
		require.Equal(t, diagnose.Undecided, r.Verdict, said)
		require.Contains(t, r.NextTests[0].Ask, said)
	}
	f, err := diagnose.ParseFinding("ct 2 arrow right")
	require.NoError(t, err)
	r := diagnose.Diagnose([]reading.Reading{sound()}, diagnose.Options{Tables: tables, Findings: []diagnose.Finding{f}})
	require.Equal(t, diagnose.Agrees, r.Verdict)
}

// Voltages that fit no service infer none: which it is comes before any move.
func TestVoltagesOfNoServiceAreAskedAbout(t *testing.T) {
	for _, volts := range []float64{480, 0, 400} {
		r := sound()
		r.Service = ""
		for k := range r.Channels {
			c := &r.Channels[k]
			c.Voltage, c.Power = reading.Known(volts), reading.Value{}
			c.VoltageAngle = reading.Maybe[reading.Angle]{}
		}
		got := diagnose.Diagnose([]reading.Reading{r}, diagnose.Options{Tables: tables})
		require.Equal(t, diagnose.Undecided, got.Verdict, "%g V: %s", volts, got.Summary)
		require.Contains(t, got.NextTests[0].Ask, "--service", "%g V", volts)
		for _, x := range got.Explanations {
			require.Empty(t, x.Moves, "%g V", volts)
		}
	}
}
