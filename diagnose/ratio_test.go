package diagnose_test

import (
	"fmt"
	"math/cmplx"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"legwork/diagnose"
	"legwork/diagnose/wiring"
	"legwork/probe/reading"
	"legwork/sim"
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

// Whatever the panel, a rating that disagrees with the meter's setting, or a clamp that
// shows twice the current, never ends in agreement.
func TestContradictedRatiosNeverAgree(t *testing.T) {
	rng := rand.New(rand.NewPCG(41, 42))
	judged := 0
	for _, service := range []string{"120/208Y", "120/240", "480D", "230", "120/240D"} {
		for range 60 {
			site, err := sim.RandomSite(rng, service, sim.MixedLoads())
			require.NoError(t, err)
			r := site.Read()
			amps := r.Channels[0].Current.Or(0)
			o := diagnose.Options{Tables: tables, Service: service, Generation: diagnose.GenerationNone}
			if diagnose.Diagnose([]reading.Reading{r}, o).Verdict != diagnose.Agrees {
				continue
			}
			judged++
			o.Findings = seen(t, fmt.Sprintf("clamp leg 1: %.1f A", 2*amps))
			got := diagnose.Diagnose([]reading.Reading{r}, o)
			require.NotEqual(t, diagnose.Agrees, got.Verdict, "%s: %s", service, got.Summary)
			r.CTPrimary = reading.Known(200.0)
			o.Findings, o.CTPrimary = nil, 400
			got = diagnose.Diagnose([]reading.Reading{r}, o)
			require.NotEqual(t, diagnose.Agrees, got.Verdict, "%s: %s", service, got.Summary)
			require.Equal(t, diagnose.CauseSettings, got.Explanations[0].Cause)
		}
	}
	require.Greater(t, judged, 200)
}

// A current far above what its CT is rated for is a rating or a scale that is wrong, more
// likely than a load; up to twice the rating it is none (IEC 61869-2:2012, 5.203).
func TestCurrentAboveTheRating(t *testing.T) {
	for _, c := range []struct {
		amps    float64
		verdict diagnose.Verdict
	}{{40, diagnose.Agrees}, {60, diagnose.Agrees}, {100, diagnose.Agrees}, {200, diagnose.Undecided}, {1000, diagnose.Undecided}} {
		b := branch{}
		for m := range 3 {
			b.e[m] = phasor(277, -120*float64(m))
			b.j[m] = phasor(c.amps*(1-0.1*float64(m)), -120*float64(m)-20)
		}
		byMap := b.wye(277, right)
		byMap.CTPrimary = reading.Known(50.0)
		for name, got := range map[string]diagnose.Result{
			"map":   diagnose.Diagnose([]reading.Reading{byMap}, diagnose.Options{Tables: tables}),
			"sheet": diagnose.Diagnose([]reading.Reading{b.wye(277, right)}, diagnose.Options{Tables: tables, CTPrimary: 50}),
		} {
			require.Equal(t, c.verdict, got.Verdict, "%g A by the %s: %s", c.amps, name, got.Summary)
			if c.verdict == diagnose.Undecided {
				require.Equal(t, "settings", got.NextTests[0].Test)
				require.Contains(t, got.NextTests[0].Ask, "plates")
				require.Equal(t, "current.1", got.DataFaults[0].Point)
				require.Empty(t, got.Explanations[0].Moves)
			}
			if c.amps == 1000 {
				require.Equal(t, diagnose.CauseSettings, got.Explanations[0].Cause)
			}
		}
		turned := b.wye(277, wiring.Arrangement{{Leg: 1}, {Leg: 2, Reversed: true}, {Leg: 3}})
		turned.CTPrimary = byMap.CTPrimary
		got := diagnose.Diagnose([]reading.Reading{turned}, diagnose.Options{Tables: tables})
		require.Equal(t, diagnose.Fault, got.Verdict, got.Summary) // whatever the ratio is
	}
}
