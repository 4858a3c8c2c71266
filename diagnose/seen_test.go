package diagnose_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"legwork/diagnose"
	"legwork/diagnose/wiring"
	"legwork/probe/reading"
)

func seen(t testing.TB, texts ...string) []diagnose.Seen {
	var all []diagnose.Seen
	for _, x := range texts {
		s, err := diagnose.ParseSeen(x)
		require.NoError(t, err)
		all = append(all, s)
	}
	return all
}

func TestSeenIsUnderstoodAsItsExamples(t *testing.T) {
	for _, x := range diagnose.SeenExamples() {
		require.Equal(t, strings.ToUpper(x), seen(t, strings.ToUpper(x))[0].String())
	}
	_, err := diagnose.ParseSeen("the load on leg two went up")
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
	open := diagnose.Diagnose([]reading.Reading{splitPhase()}, diagnose.Options{})
	require.Equal(t, diagnose.Fault, open.Verdict)
	require.Len(t, open.Explanations[0].Twins, 1)
	require.Equal(t, "load-step", open.NextTests[0].Test)

	for text, words := range map[string]string{
		"leg 1 on: channel 2 up":   "CTs 1 and 2 are crossed",
		"leg 1 on: channel 1 down": "all CTs are reversed",
		"ct 1 arrow wrong":         "all CTs are reversed",
		"ct 2 on leg 1":            "CTs 1 and 2 are crossed",
		"clamp leg 1: 15 A":        "CTs 1 and 2 are crossed",
	} {
		r := diagnose.Diagnose([]reading.Reading{splitPhase()}, diagnose.Options{Seen: seen(t, text)})
		require.Equal(t, words, r.Explanations[0].Words, text)
	}
}

// Whatever one look leaves open at the feeder's substation, the first test
// recommended brings its truth to the top, when it is answered truly.
func TestNextTestHelpsTheTruth(t *testing.T) {
	sub := feeder(t, "ieee13_metering_points.csv")[0]
	for _, a := range wyeArrangements() {
		r := diagnose.Diagnose([]reading.Reading{sub.wye(2401.78, a)}, diagnose.Options{})
		if r.Verdict != diagnose.Undecided {
			continue
		}
		require.NotEmpty(t, r.NextTests, "%v: %s", a, r.Summary)
		answers := make([]string, 0, 3)
		for k, c := range a {
			where := "up"
			if c.Reversed {
				where = "down"
			}
			answers = append(answers, "leg "+string(rune('0'+c.Leg))+" on: channel "+string(rune('1'+k))+" "+where)
		}
		settled := diagnose.Diagnose([]reading.Reading{sub.wye(2401.78, a)}, diagnose.Options{Seen: seen(t, answers...)})
		require.Zero(t, explained(settled, a), "%v: %s", a, settled.Summary)
	}
}

// With generation declared possible an all-negative reading is no fault by itself.
func TestGenerationIsNoFault(t *testing.T) {
	a := wiring.Arrangement{{Leg: 1, Reversed: true}, {Leg: 2, Reversed: true}, {Leg: 3, Reversed: true}}
	b := branch{}
	for m := range 3 {
		b.e[m] = phasor(277, -120*float64(m))
		b.j[m] = phasor(10+float64(m), -120*float64(m)-3)
	}
	without := diagnose.Diagnose([]reading.Reading{b.wye(277, a)}, diagnose.Options{})
	require.Equal(t, diagnose.Fault, without.Verdict)
	with := diagnose.Diagnose([]reading.Reading{b.wye(277, a)}, diagnose.Options{Generation: true})
	require.NotEqual(t, diagnose.Fault, with.Verdict, with.Summary)
}

func FuzzParseSeen(f *testing.F) {
	for _, x := range diagnose.SeenExamples() {
		f.Add(x)
	}
	f.Fuzz(func(t *testing.T, text string) {
		s, err := diagnose.ParseSeen(text)
		if err == nil { // law: what is understood can be used
			requireSound(t, diagnose.Diagnose([]reading.Reading{splitPhase()}, diagnose.Options{Seen: []diagnose.Seen{s}}))
		}
	})
}
