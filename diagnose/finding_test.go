package diagnose_test

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"legwork/diagnose"
	"legwork/diagnose/wiring"
	"legwork/probe/reading"
)

func seen(t testing.TB, texts ...string) []diagnose.Finding {
	var all []diagnose.Finding
	for _, x := range texts {
		s, err := diagnose.ParseFinding(x)
		require.NoError(t, err)
		all = append(all, s)
	}
	return all
}

func TestSeenIsUnderstoodAsItsExamples(t *testing.T) {
	for _, x := range diagnose.FindingExamples() {
		require.Equal(t, x, seen(t, strings.ToUpper(x))[0].String())
	}
	_, err := diagnose.ParseFinding("the load on leg two went up")
	require.ErrorContains(t, err, "say one of: leg 2 on: channel 3 up; ")
}

// splitPhase is a bakery's reading with both channels negative: both CTs
// reversed, or crossed.
func splitPhase() reading.Reading {
	r := reading.Reading{Service: "120/240"}
	for k, theta := range []float64{190, 187} {
		a := reading.Degrees(theta)
		amps := 10 + 5*float64(k)
		r.Channels = append(r.Channels, reading.Channel{Voltage: reading.Known(120.0), Current: reading.Known(amps), Angle: reading.Known(a), Power: reading.Known(120 * amps * a.Cos())})
	}
	return r
}

// A pair that reads alike is told apart by the test that is recommended first.
func TestRecommendedTestTellsAPairApart(t *testing.T) {
	none := diagnose.Options{Tables: tables, Generation: diagnose.GenerationNone}
	open := diagnose.Diagnose([]reading.Reading{splitPhase()}, none)
	require.Equal(t, diagnose.Fault, open.Verdict)
	require.Len(t, open.Explanations[0].Twins, 1)
	require.Equal(t, "load-step", open.NextTests[0].Test)

	for text, words := range map[string]string{
		"leg 1 on: channel 2 down": "CTs 1 and 2 are crossed", // its own voltage is opposite to leg 1's
		"leg 1 on: channel 1 down": "all CTs are reversed",
		"ct 1 arrow wrong":         "all CTs are reversed",
		"ct 2 on leg 1":            "CTs 1 and 2 are crossed",
		"clamp leg 1: 15 A":        "CTs 1 and 2 are crossed",
	} {
		r := diagnose.Diagnose([]reading.Reading{splitPhase()}, diagnose.Options{Tables: tables, Findings: seen(t, text)})
		require.Equal(t, words, r.Explanations[0].Words, text)
	}
}

// Once a test has told a pair apart they are separate explanations, and the
// test isn't asked for again.
func TestASettledPairIsToldNoMore(t *testing.T) {
	r := diagnose.Diagnose([]reading.Reading{splitPhase()}, diagnose.Options{Tables: tables, Findings: seen(t, "leg 1 on: channel 2 down")})
	require.Equal(t, diagnose.Fault, r.Verdict)
	require.Equal(t, "CTs 1 and 2 are crossed", r.Explanations[0].Words)
	require.Empty(t, r.Explanations[0].Twins)
	require.NotContains(t, r.Summary, "can't be told from")
	for _, x := range r.Explanations[1:] { // if it is worth a word, it has one of its own
		require.Equal(t, "all CTs are reversed", x.Words)
	}
	require.Empty(t, r.NextTests)
}

// What the power of a channel does on another leg is not what its arrow does: on
// a wye with CTs 2 and 3 crossed, heat on leg 2 turns channel 3's power down.
func TestStepOnAnotherLegTurnsThePowerDown(t *testing.T) {
	b := branch{}
	for m := range 3 {
		b.e[m], b.j[m] = phasor(277, -120*float64(m)), phasor(10+float64(m), -120*float64(m)-20)
	}
	crossed := wiring.Arrangement{{Leg: 1}, {Leg: 3}, {Leg: 2}}
	r := b.wye(277, crossed)
	for k := range r.Channels { // a power factor that lags, and no power: nothing is said of polarity
		c := &r.Channels[k]
		*c = reading.Channel{Voltage: c.Voltage, VoltageAngle: c.VoltageAngle, Current: c.Current,
			PowerFactor: reading.Known(math.Copysign(c.Angle.Or(0).Cos(), math.Tan(c.Angle.Or(0).Radians()))), PowerFactorSign: reading.SignTellsLagging}
	}
	probability := func(text string) (right, reversed float64) {
		got := diagnose.Diagnose([]reading.Reading{r}, diagnose.Options{Tables: tables, Findings: seen(t, "ct 3 on leg 2", "ct 2 on leg 3", "ct 1 arrow right", "ct 2 arrow right", text)})
		for _, x := range got.Explanations {
			if *x.CT[2].Leg == 2 && *x.CT[2].Reversed {
				reversed += x.Probability
			} else if *x.CT[2].Leg == 2 {
				right += x.Probability
			}
		}
		return right, reversed
	}
	right, reversed := probability("leg 2 on: channel 3 down")
	require.Greater(t, right, 0.9)
	less, more := probability("leg 2 on: channel 3 up") // rather a motor than heat, or reversed
	require.Greater(t, more/less, 3*reversed/right)
}

// With generation declared possible an all-negative reading is no fault by itself.
func TestGenerationIsNoFault(t *testing.T) {
	a := wiring.Arrangement{{Leg: 1, Reversed: true}, {Leg: 2, Reversed: true}, {Leg: 3, Reversed: true}}
	b := branch{}
	for m := range 3 {
		b.e[m] = phasor(277, -120*float64(m))
		b.j[m] = phasor(10+float64(m), -120*float64(m)-3)
	}
	without := diagnose.Diagnose([]reading.Reading{b.wye(277, a)}, diagnose.Options{Tables: tables, Generation: diagnose.GenerationNone})
	require.Equal(t, diagnose.Fault, without.Verdict)
	unsaid := diagnose.Diagnose([]reading.Reading{b.wye(277, a)}, diagnose.Options{Tables: tables})
	require.Equal(t, diagnose.Undecided, unsaid.Verdict, unsaid.Summary)
	require.Equal(t, "generation", unsaid.NextTests[0].Test)
	with := diagnose.Diagnose([]reading.Reading{b.wye(277, a)}, diagnose.Options{Tables: tables, Generation: diagnose.GenerationPossible})
	require.NotEqual(t, diagnose.Fault, with.Verdict, with.Summary)
}

func FuzzParseSeen(f *testing.F) {
	for _, x := range diagnose.FindingExamples() {
		f.Add(x)
	}
	f.Fuzz(func(t *testing.T, text string) {
		s, err := diagnose.ParseFinding(text)
		if err == nil { // law: what is understood can be used
			requireSound(t, diagnose.Diagnose([]reading.Reading{splitPhase()}, diagnose.Options{Tables: tables, Findings: []diagnose.Finding{s}}))
		}
	})
}
