package diagnose_test

import (
	"math/cmplx"
	"testing"

	"github.com/stretchr/testify/require"

	"legwork/diagnose"
	"legwork/probe/reading"
)

// One CT of twice the rating that the meter is set for reads half: a clamp on
// its conductor tells, and so does a neutral current measured by itself.
func TestWrongRatioIsToldByOtherEvidence(t *testing.T) {
	b := branch{}
	var neutral complex128
	for m := range 3 {
		b.e[m] = phasor(277, -120*float64(m))
		b.j[m] = phasor(40+4*float64(m), -120*float64(m)-20)
		neutral += b.j[m]
	}
	half := b
	half.j[1] /= 2
	r := half.wye(277, right)
	require.Empty(t, diagnose.Diagnose([]reading.Reading{r}, diagnose.Options{Tables: tables}).DataFaults)

	clamp := diagnose.Diagnose([]reading.Reading{r}, diagnose.Options{Tables: tables, Findings: seen(t, "clamp leg 2: 44 A")})
	require.Len(t, clamp.DataFaults, 1)
	require.Equal(t, "current.2", clamp.DataFaults[0].Point)
	require.Contains(t, clamp.DataFaults[0].Mend, "rated 2 times")

	r.NeutralCurrent = reading.Known(cmplx.Abs(neutral))
	byNeutral := diagnose.Diagnose([]reading.Reading{r}, diagnose.Options{Tables: tables})
	require.Len(t, byNeutral.DataFaults, 1)
	require.Equal(t, "current.2", byNeutral.DataFaults[0].Point)
	require.Contains(t, byNeutral.DataFaults[0].Mend, "rated 2 times")

	sound := b.wye(277, right)
	sound.NeutralCurrent = reading.Known(cmplx.Abs(neutral))
	require.Empty(t, diagnose.Diagnose([]reading.Reading{sound}, diagnose.Options{Tables: tables, Findings: seen(t, "clamp leg 2: 44 A")}).DataFaults)
}
