package energy

import (
	"encoding/json"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"legwork/diagnose"
	"legwork/diagnose/wiring"
	"legwork/probe/reading"
)

func TestNoEstimateWhereNoneIsPossible(t *testing.T) {
	for name, c := range map[string]struct {
		registered float64
		g          Registration
		why        string
	}{
		"the interval holds nothing": {1e6, Registration{0.05, -0.1, 0.2},
			"next to nothing may have been registered"},
		"next to nothing":    {1e6, Exactly(0.01), "next to nothing"},
		"nothing registered": {0, Exactly(0.5), "nothing was registered"},
		"it ran forwards where it runs back": {1e6, Exactly(-1.0 / 3),
			"the register runs backwards, and it moved the other way"},
		"it ran backwards where it runs onward": {-1e6, Exactly(0.5), "the register runs forwards"},
	} {
		r, err := Estimate(Question{Registered: c.registered, Registration: &c.g})
		require.NoError(t, err, name)
		require.Equal(t, wiring.Undecided, r.Verdict, name)
		require.Contains(t, r.Why, c.why, name)
		require.Nil(t, r.True, name)
		require.Nil(t, r.K, name)
	}
	r, err := Estimate(Question{Registered: 1e6, Unknown: "the wiring isn't settled"})
	require.NoError(t, err)
	require.Equal(t, "No estimate is possible: the wiring isn't settled.", r.Summary)
	r, err = Estimate(Question{Registered: 1e6})
	require.NoError(t, err)
	require.Equal(t, "No estimate is possible: no registration is given.", r.Summary)
}

// Law: true lies between its bounds, K times registered is true, and the bounds
// of a register that ran backwards are not turned round.
func TestBoundsOfARegisterThatRanBackwards(t *testing.T) {
	g := Registration{-0.5, -0.6, -0.4}
	r, err := Estimate(Question{Registered: -1e6, Registration: &g})
	require.NoError(t, err)
	require.InDelta(t, 2e6, r.True.Best, 1e-6)
	require.InDelta(t, 1e6/0.6, r.True.Low, 1e-6)
	require.InDelta(t, 1e6/0.4, r.True.High, 1e-6)
	require.InDelta(t, 3e6, r.Missing.Best, 1e-6)
	require.Equal(t, wiring.Fault, r.Verdict)
}

func TestTooMuchRegistered(t *testing.T) {
	g := Registration{1.25, 1.2, 1.3}
	r, err := Estimate(Question{Registered: 1e7, Registration: &g})
	require.NoError(t, err)
	require.Equal(t, "2000 kWh too much was registered (1666.7 to 2307.7): the true energy is 8000 kWh (7692.3 to "+
		"8333.3).", r.Summary)
}

func TestRegistrationThatCantBe(t *testing.T) {
	for _, g := range []Registration{{0.3, 0.4, 0.5}, {0.6, 0.4, 0.5}, {math.NaN(), 0, 1}, {1e9, 1e9, 1e9}} {
		_, err := Estimate(Question{Registered: 1, Registration: &g})
		require.Error(t, err, "%+v", g)
	}
	_, err := Estimate(Question{Registered: math.Inf(1)})
	require.Error(t, err)
}

// The interval over loads contains the balanced value and widens with unbalance;
// the same question has the same answer.
func TestIntervalOverLoads(t *testing.T) {
	a, err := ParseAssumedFault(service(t, "120/208Y"), "ct 2 reversed")
	require.NoError(t, err)
	lag, err := ParsePowerFactor("0.8..0.95")
	require.NoError(t, err)
	last := 0.0
	for _, u := range []float64{0.05, 0.2, 0.5} {
		l := Load{Lag: lag, Unbalance: u, Sequence: wiring.Forward}
		g := a.Registration(l)
		require.Equal(t, g, a.Registration(l))
		require.InDelta(t, 1.0/3, g.Best, 0.01)
		require.Greater(t, g.High-g.Low, last)
		last = g.High - g.Low
	}
	same := a.Registration(Load{Lag: lag, Sequence: wiring.Forward})
	require.InDelta(t, same.Low, same.High, 1e-9,
		"one reversed CT of a balanced load registers a third at any power factor")
}

// A roll trades places with the other one where the sequence is ACB.
func TestSequenceTurnsRollsRound(t *testing.T) {
	of := func(faults string, q wiring.Sequence) float64 {
		a, err := ParseAssumedFault(service(t, "120/208Y"), faults)
		require.NoError(t, err)
		return a.Registration(Load{Lag: [2]float64{20, 20}, Sequence: q}).Best
	}
	require.InDelta(t, of("cts rolled", wiring.Forward), of("cts rolled back", wiring.Backward), 1e-12)
	want := -0.5 - math.Sqrt(3)/2*math.Tan(20*math.Pi/180) // cos(phi + 120)/cos(phi) at phi = 20 degrees
	require.InDelta(t, want, of("cts rolled", wiring.Forward), 1e-9)
}

func TestAssumedFaultsAreRefused(t *testing.T) {
	for text, want := range map[string]string{
		"":                     "is not understood",
		"ct 4 reversed":        "is not understood",
		"ct 1 and 1 crossed":   "can't be crossed with itself",
		"ct 1 reversd":         "say one of",
		"ct 2 -140 %":          "-100 % to +1000 %",
		"input 1 at 300 %":     "not possible",
		"ct 1 0/5 for 200/5":   "ratio of nothing",
		"ct 1 reversed,":       "is not understood",
		"ct 1 400/5 for 300/4": "is not understood",
	} {
		_, err := ParseAssumedFault(service(t, "120/208Y"), text)
		require.ErrorContains(t, err, want, text)
		require.NotContains(t, err.Error(), "\n")
	}
	for text, want := range map[string]string{"ct 3 reversed": "120/240 has no channel 3",
		"cts rolled": "a roll needs three CTs", "ct 1 on leg 3": "no leg 3"} {
		_, err := ParseAssumedFault(service(t, "120/240"), text)
		require.ErrorContains(t, err, want, text)
	}
}

// What is refused changes nothing.
func TestARefusedFaultChangesNothing(t *testing.T) {
	for _, text := range []string{
		"ct 3 reversed", "ct 3 dead", "input 3 dead", "input 3 at 50 %", "input 1 at 300 %", "input 3 at 300 %", "ct 3 -40 %",
		"ct 1 -140 %",
		"ct 3 400/5 for 300/5", "ct 1 0/5 for 300/5", "cts 1 and 3 crossed", "cts 3 and 1 crossed", "ct 1 and 1 crossed",
		"cts rolled", "ct 3 on leg 1", "ct 1 on leg 3",
	} {
		a, err := ParseAssumedFault(service(t, "120/240"), "ct 2 reversed")
		require.NoError(t, err)
		before := a
		require.Error(t, a.add(text), text)
		require.Equal(t, before, a, text)
	}
	_, err := ParseAssumedFault(service(t, "120/240"), "input 3 at 300 %")
	require.ErrorContains(t, err, "120/240 has no channel 3", "the channel is named before its value")
}

func TestEveryExampleIsUnderstood(t *testing.T) {
	for _, text := range AssumedFaultExamples() {
		_, err := ParseAssumedFault(service(t, "120/208Y"), text)
		require.NoError(t, err, text)
	}
}

func TestPowerFactors(t *testing.T) {
	for text, want := range map[string][2]float64{
		"0.5": {60, 60}, "1": {0, 0}, "1.0": {0, 0}, "0.5..1": {0, 60}, "0.5 lead..0.5 lag": {-60, 60}, "0,5 .. 1": {0, 60},
		".5 leading": {-60, -60}, "1..0.5": {0, 60},
	} {
		got, err := ParsePowerFactor(text)
		require.NoError(t, err, text)
		require.InDelta(t, want[0], got[0], 1e-9, text)
		require.InDelta(t, want[1], got[1], 1e-9, text)
	}
	for _, text := range []string{"", "1.1", "0", "-0.9", "0.9...1", "0.9..", "cos 0.9", "0.9..0.8..0.7", "0.01"} {
		_, err := ParsePowerFactor(text)
		require.Error(t, err, text)
	}
}

func TestEnergiesAndUnbalance(t *testing.T) {
	x, err := ParseEnergy("1.2 MWh")
	require.NoError(t, err)
	require.InDelta(t, 1.2e6, x, 1e-9)
	for _, text := range []string{"10000", "10 kW", "1,234 kWh", "", "kWh", "1e5 kWh", "9999999999999999 kWh"} {
		_, err := ParseEnergy(text)
		require.Error(t, err, text)
	}
	for _, text := range []string{"-1 %", "101 %", "x"} {
		_, err := ParseUnbalance(text)
		require.Error(t, err, text)
	}
	for _, text := range []string{"peak", "peak: 3 kWh", "peak: 3 at 0.2", "peak: 3 kWh at x", "peak: 3 kWh at 9999999"} {
		_, err := ParsePeriod(text)
		require.Error(t, err, text)
	}
	_, err = ParseClass("0.7")
	require.EqualError(t, err, `"0.7" is no class of CTs; there are 0.1, 0.2, 0.2S, 0.5, 0.5S, 1`)
}

// A verdict that isn't one gives no estimate, and says what to do.
func TestVerdictsWithoutARegistration(t *testing.T) {
	q := OfVerdict(diagnose.Result{Verdict: diagnose.Undecided, Summary: "It may be this or that."}, nil,
		Known{Registered: 1e6})
	require.Contains(t, q.Unknown, "nothing is known of the wiring")
	d := diagnose.Result{Verdict: diagnose.Undecided, Summary: "It may be this or that.",
		Explanations: []diagnose.Explanation{{Registration: reading.Known(0.5)}}}
	require.Contains(t, OfVerdict(d, nil, Known{}).Unknown, "the wiring isn't settled")
	away := d
	away.KeepAway = true
	require.Contains(t, OfVerdict(away, nil, Known{}).Unknown, "keep away from the panel")
	d.Verdict, d.Explanations[0].Registration = diagnose.Fault, reading.Value{}
	require.Contains(t, OfVerdict(d, nil, Known{}).Unknown, "isn't measured")
}

// Many readings take bounded memory, and the kept ones are spread over all.
func TestObservationsAreBounded(t *testing.T) {
	s := &Observations{}
	r := reading.Reading{Channels: []reading.Channel{{Voltage: reading.Known(120.0), Power: reading.Known(100.0),
		Reactive: reading.Known(-5.0)}}}
	for range 3 * mostRows {
		s.Add(r)
	}
	require.Less(t, len(s.rows), mostRows)
	require.Greater(t, len(s.rows), mostRows/4)
	require.Equal(t, 3*mostRows, s.n)
}

// What isn't known is null, and what is can be read back.
func TestResultAsJSON(t *testing.T) {
	r, err := Estimate(Question{Registered: 1, Unknown: "no"})
	require.NoError(t, err)
	b, err := json.Marshal(r)
	require.NoError(t, err)
	require.True(t, strings.HasPrefix(string(b), `{"legwork":1,`))
	require.Contains(t, string(b), `"true":null`)
	var back Result
	require.NoError(t, json.Unmarshal(b, &back))
	require.Equal(t, r, back)
}

func FuzzParseAssumedFault(f *testing.F) {
	for _, text := range AssumedFaultExamples() {
		f.Add(text)
	}
	f.Add("ct 1 reversed, ct 2 -40 %, input 3 at 50 %")
	f.Fuzz(func(t *testing.T, text string) {
		for _, name := range []string{"120/208Y", "120/240", "480D"} {
			s := service(t, name)
			a, err := ParseAssumedFault(s, text)
			if err != nil { // law 1: one line
				require.NotContains(t, strings.ReplaceAll(err.Error(), text, ""), "\n")
				continue
			}
			g := a.Registration(Load{Lag: [2]float64{25, 25}, Sequence: wiring.Forward})
			require.False(t, math.IsNaN(g.Best) || math.IsInf(g.Best, 0), "law 2: a registration is finite: %q on %s", text,
				s.Name)
		}
	})
}

func FuzzSmallGrammars(f *testing.F) {
	f.Add("0.8 lead..0.95")
	f.Add("peak: 30000 kWh at 0.60")
	f.Add("1.2 MWh")
	f.Fuzz(func(t *testing.T, text string) {
		if lag, err := ParsePowerFactor(text); err == nil { // law: angles within a quarter turn, in order
			require.LessOrEqual(t, lag[0], lag[1])
			require.Less(t, math.Max(math.Abs(lag[0]), math.Abs(lag[1])), 90.0)
		}
		if p, err := ParsePeriod(text); err == nil { // law: finite, with a name
			require.NotEmpty(t, p.Name)
			require.False(t, math.IsNaN(p.Registered) || math.IsInf(p.Registered, 0))
		}
		if x, err := ParseEnergy(text); err == nil {
			require.LessOrEqual(t, math.Abs(x), mostWh)
		}
	})
}
