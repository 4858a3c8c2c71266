package clamp

import (
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"legwork/diagnose"
	"legwork/diagnose/wiring"
	"legwork/probe/reading"
)

// samples of a meter that reads these currents, and then others by a share.
func samples(steps []float64, amps ...float64) []reading.Reading {
	var all []reading.Reading
	for _, s := range steps {
		var r reading.Reading
		for _, a := range amps {
			r.Channels = append(r.Channels, reading.Channel{Current: reading.Known(a * (1 + s)),
				Voltage: reading.Known(120 * (1 + s/100))})
		}
		all = append(all, r)
	}
	return all
}

func steady() []float64 { return []float64{0, 0.001, -0.001, 0.0005, -0.0005} }

func reads(t testing.TB, texts ...string) []Read {
	all, err := ParseReads(texts)
	require.NoError(t, err)
	return all
}

func causes(r Result) []Cause {
	var all []Cause
	for _, e := range r.Explanations {
		all = append(all, e.Cause)
	}
	return all
}

func TestWhatDifferencesMean(t *testing.T) {
	for name, c := range map[string]struct {
		steps   []float64
		amps    []float64
		read    []string
		set     string
		verdict wiring.Verdict
		causes  []Cause
		words   string
	}{
		"all ratios right, only angles could be wrong": {steady(), []float64{40, 50, 60},
			[]string{"leg 1: 40.3 A", "leg 2: 49.8 A", "leg 3: 60.1 A"}, "200/5",
			wiring.Agrees, []Cause{RatiosRight}, "it is angles (polarity, pairing)"},
		"all off by one ratio": {steady(), []float64{40, 50, 60}, []string{"leg 1: 20.1 A", "leg 2: 24.9 A", "leg 3: 30.2 A"},
			"200/5",
			wiring.Fault, []Cause{SetWrong}, "CTs of 100/5 A would read so"},
		"all of 1 A where 5 A is set": {steady(), []float64{8, 10, 12},
			[]string{"leg 1: 40.1 A", "leg 2: 49.9 A", "leg 3: 60.2 A"}, "200/5",
			wiring.Fault, []Cause{SetWrong}, "200/1 A"},
		"one odd CT": {steady(), []float64{40, 50, 60}, []string{"leg 1: 40.3 A", "leg 2: 75.2 A", "leg 3: 60.1 A"}, "200/5",
			wiring.Fault, []Cause{OneOdd}, "CTs of 300/5 A would read so"},
		"two legs exchanged": {steady(), []float64{40, 50, 60}, []string{"leg 1: 50.1 A", "leg 2: 40.2 A", "leg 3: 60.1 A"},
			"",
			wiring.Fault, []Cause{Exchanged}, "channel 1 reads what leg 2 carries"},
		"two legs exchanged, or two odd ratings": {steady(), []float64{40, 50, 60},
			[]string{"leg 1: 50.1 A", "leg 2: 40.2 A", "leg 3: 60.1 A"}, "200/5",
			wiring.Fault, []Cause{Exchanged, Unlike, Unlike}, "CTs of 250/5 A would read so"},
		"three legs rolled": {steady(), []float64{40, 52, 67}, []string{"leg 1: 52.1 A", "leg 2: 67.2 A", "leg 3: 40.1 A"},
			"",
			wiring.Fault, []Cause{Exchanged}, "channel 1 reads what leg 3 carries, channel 2 reads what leg 1 carries"},
		"one conductor of two parallel": {steady(), []float64{20, 50, 60}, []string{"leg 1: 40.3 A", "leg 2: 49.8 A"},
			"200 A",
			wiring.Fault, []Cause{OneOdd}, "round one of 2 parallel conductors"},
		"each by its own": {steady(), []float64{40, 50, 60}, []string{"leg 1: 53.2 A", "leg 2: 100.3 A", "leg 3: 60.3 A"},
			"200/5",
			wiring.Fault, []Cause{Unlike, Unlike}, "channel 1 reads 0.7519 times"},
		"too unsteady": {[]float64{0, 0.3, -0.3, 0.4, -0.2}, []float64{40, 50, 60},
			[]string{"leg 1: 45.2 A", "leg 2: 49.8 A"}, "200/5",
			wiring.Undecided, []Cause{NotSteady, NotSteady}, "changed too much between samples"},
		"too small": {steady(), []float64{1.1, 50, 60}, []string{"leg 1: 1.0 A"}, "200/5",
			wiring.Undecided, []Cause{NotEnough}, "its limit of error is"},
		"a channel that reads nothing": {steady(), []float64{0, 50, 60}, []string{"leg 1: 40.3 A", "leg 2: 49.8 A"}, "200/5",
			wiring.Fault, []Cause{Nothing, RatiosRight}, "its CT may be open"},
		"a channel that isn't there": {steady(), []float64{40}, []string{"leg 2: 41.0 A"}, "", wiring.Undecided,
			[]Cause{NotEnough}, "no current of channel 2"},
		"line voltage": {steady(), []float64{40, 50, 60}, []string{"leg 1: 208.1 V"}, "", wiring.Fault,
			[]Cause{OneOdd}, "root of three"},
		"voltages right": {steady(), []float64{40, 50, 60}, []string{"leg 1: 120.4 V", "leg 2: 119.9 V"}, "",
			wiring.Agrees, []Cause{RatiosRight}, "voltages agree"},
		"one load drifted between the two readings": {steady(), []float64{40, 50, 60}, []string{"leg 1: 44.0 A",
			"leg 2: 49.8 A"}, "200/5",
			wiring.Undecided, []Cause{RatiosRight, MayDrift}, "may have drifted so far"},
		"all loads drifted between the two readings": {steady(), []float64{40, 50, 60},
			[]string{"leg 1: 44.3 A", "leg 2: 55.4 A", "leg 3: 66.1 A"}, "200/5",
			wiring.Undecided, []Cause{MayDrift, MayDrift, MayDrift}, "read both again at one moment"},
		"neighbouring ratings": {steady(), []float64{40, 50, 60}, []string{"leg 1: 50.1 A", "leg 2: 62.4 A",
			"leg 3: 75.2 A"}, "200/5",
			wiring.Fault, []Cause{SetWrong}, "CTs of 250/5 A would read so"},
		"one sample, far off": {[]float64{0}, []float64{40, 50, 60}, []string{"leg 2: 25.1 A", "leg 1: 40.1 A"},
			"200/5", wiring.Fault, []Cause{OneOdd}, "100/5 A"},
	} {
		o := Options{}
		if c.set != "" {
			var err error
			o.Set, err = ParseRating(c.set)
			require.NoError(t, err)
		}
		r := Compare(samples(c.steps, c.amps...), reads(t, c.read...), o)
		require.Equal(t, c.verdict, r.Verdict, "%s: %s", name, r.Summary)
		require.Equal(t, c.causes, causes(r), name)
		var words strings.Builder
		for _, e := range r.Explanations {
			words.WriteString(e.Words + "\n")
		}
		require.Contains(t, words.String(), c.words, name)
	}
}

// A load that drifts by 5 % from one reading to the other, three legs alike or not, is
// called a wrong ratio in at most 1 of 100 comparisons; a CT one rating off is found in 80, the rest being undecided.
func TestDriftIsNoWrongRatio(t *testing.T) {
	if testing.Short() {
		t.Skip("long, and of one goroutine")
	}
	rng := rand.New(rand.NewPCG(31, 32))
	alarms, found := 0, 0
	const n = 1000
	for range n {
		amps := []float64{30 + 60*rng.Float64(), 30 + 60*rng.Float64(), 30 + 60*rng.Float64()}
		var texts []string
		for k, a := range amps {
			texts = append(texts, fmt.Sprintf("leg %d: %.1f A", k+1,
				a*(1+0.05*rng.NormFloat64())*(1+0.01*(2*rng.Float64()-1))))
		}
		if Compare(samples(steady(), amps...), reads(t, texts...), Options{}).Verdict == wiring.Fault {
			alarms++
		}
		amps[1] /= 1.25
		if r := Compare(samples(steady(), amps...), reads(t, texts...), Options{}); r.Verdict == wiring.Fault {
			found++
		}
	}
	t.Logf("%d false alarms, %d wrong ratios found, of %d", alarms, found, n)
	require.LessOrEqual(t, alarms, n/100)
	require.GreaterOrEqual(t, found, n*8/10)
}

// "Settings are right" is said of the channels that were clamped.
func TestChannelsThatWereNotClamped(t *testing.T) {
	wye, err := wiring.ParseService("120/208Y")
	require.NoError(t, err)
	r := Compare(samples(steady(), 40, 50, 60), reads(t, "leg 2: 49.8 A"), Options{Service: wye})
	require.Equal(t, wiring.Agrees, r.Verdict)
	require.Contains(t, r.Summary, "The currents agree with the clamp on channel 2: ")
	require.Contains(t, r.Summary, "nothing is known of channels 1 and 3")
}

// A neutral that may be lost stops it, and ratings that disagree never end in agreement.
func TestWhatNoClampSettles(t *testing.T) {
	all := reads(t, "leg 1: 40.1 A", "leg 2: 49.9 A", "leg 3: 60.2 A")
	r := Compare(samples(steady(), 40, 50, 60), all, Options{KeepAway: true})
	require.Equal(t, wiring.Undecided, r.Verdict)
	require.Equal(t, []Cause{KeepAway}, causes(r))
	require.Empty(t, r.Evidence)
	for _, o := range []Options{{Set: Rating{200, 5}, Plate: Rating{400, 5}}, {Set: Rating{400, 5}, Plate: Rating{200,
		5}}} {
		r = Compare(samples(steady(), 40, 50, 60), all, o)
		require.Equal(t, wiring.Undecided, r.Verdict, r.Summary)
		require.Contains(t, causes(r), RatingsTold)
	}
	require.Equal(t, wiring.Agrees, Compare(samples(steady(), 40, 50, 60), all,
		Options{Set: Rating{200, 5}, Plate: Rating{200, 0}}).Verdict)
}

// What could hurt someone is said first: an open CT, then live panels, then CTs.
func TestCautions(t *testing.T) {
	r := Compare(samples(steady(), 0, 50), reads(t, "leg 1: 40.3 A", "leg 2: 25.1 A"), Options{})
	require.Len(t, r.Cautions, 3)
	require.Contains(t, r.Cautions[0], "the CT of channel 1 may be open, with a dangerous voltage")
	require.Contains(t, r.Cautions[1], "those qualified")
	require.Contains(t, r.Cautions[2], "never open the secondary")
	r = Compare(samples(steady(), 40), reads(t, "leg 1: 40.3 A"), Options{})
	require.Len(t, r.Cautions, 1)
}

// On a three-wire delta the CT of leg 3 is on channel 2, and nothing is on leg 2.
func TestDeltaLegs(t *testing.T) {
	delta, err := wiring.ParseService("480D")
	require.NoError(t, err)
	r := Compare(samples(steady(), 40, 60), reads(t, "leg 1: 40.1 A", "leg 3: 60.2 A"), Options{Service: delta})
	require.Equal(t, wiring.Agrees, r.Verdict, r.Summary)
	require.Equal(t, 2, r.Channels[1].Channel)
	require.ErrorContains(t, CheckReads(delta, reads(t, "leg 2: 40.1 A")), "no CT measures it")
	require.ErrorContains(t, CheckReads(delta, reads(t, "leg 1: 480 V")), "no neutral")
	split, err := wiring.ParseService("120/240")
	require.NoError(t, err)
	require.EqualError(t, CheckReads(split, reads(t, "leg 3: 40.1 A")), "leg 3: 120/240 has no such leg")
	require.NoError(t, CheckReads(wiring.Service{}, reads(t, "leg 3: 40.1 A")))
}

// What is printed as evidence, diagnose understands.
func TestEvidenceIsUnderstood(t *testing.T) {
	for text, want := range map[string]string{"leg 2: 41.3 A": "clamp leg 2: 41.3 A",
		"LEG 1:0,41 kA": "clamp leg 1: 410 A", "clamp leg 3: 1 204.5A": "clamp leg 3: 1204.5 A"} {
		r, err := ParseRead(text)
		require.NoError(t, err, text)
		require.Equal(t, want, r.Evidence())
		_, err = diagnose.ParseFinding(r.Evidence())
		require.NoError(t, err)
	}
	r, err := ParseRead("leg 2: 120.4 V")
	require.NoError(t, err)
	require.Empty(t, r.Evidence())
}

func TestDigitsAsTheyAreWritten(t *testing.T) {
	for text, want := range map[string]float64{"leg 1: 41.3 A": 0.1, "leg 1: 41 A": 1, "leg 1: 41,30 A": 0.01,
		"leg 1: 1.21 kA": 10, "leg 1: 350 mA": 0.001, "leg 1: 1,234.5 V": 0.1, "leg 1: 1 204 A": 1} {
		r, err := ParseRead(text)
		require.NoError(t, err, text)
		require.InDelta(t, want, r.Digit, 1e-12, text)
	}
}

func TestReadsAreRefused(t *testing.T) {
	for text, want := range map[string]string{
		"":                              "say `leg 2: 41.3 A`",
		"2 41.3 A":                      "say `leg 2: 41.3 A`", // 241.3 A?
		"leg 4: 41.3 A":                 "legs are 1, 2 and 3",
		"leg 2: 41.3":                   "has no unit",
		"leg 2: -41.3 A":                "above 0",
		"leg 2: 0 A":                    "above 0",
		"leg 2: 1,203 A":                "comma may group digits",
		"leg 2: forty A":                "not a value in A",
		"leg 2: 9e9 A":                  "not a number",
		"leg 2: 41.3 W":                 "has no unit",
		"leg 2: 900 kA":                 "at most 100000",
		"leg 99999999999999999999: 3 A": "legs are",
	} {
		_, err := ParseRead(text)
		require.ErrorContains(t, err, want, text)
		require.NotContains(t, err.Error(), "\n")
	}
	reads, err := ParseReads([]string{"leg 2: 41.3 A", "leg 2: 120 V", "L2 40A"})
	require.NoError(t, err)
	require.ErrorContains(t, CheckTwice(reads), "the current of leg 2 is given twice")
}

func TestListsOfReads(t *testing.T) {
	for text, want := range map[string][]Read{
		"87.3,97.6,92.0": {{1, reading.Current, 87.3, 0.1}, {2, reading.Current, 97.6, 0.1}, {3, reading.Current, 92, 0.1}},
		"87,3; ;92 A":    {{1, reading.Current, 87.3, 0.1}, {3, reading.Current, 92, 1}},
		",0.4kA":         {{2, reading.Current, 400, 100}},
	} {
		got, err := ParseList(text, reading.Current)
		require.NoError(t, err, text)
		require.Equal(t, want, got, text)
	}
	for text, want := range map[string]string{"": "has no value", "1,2,3,4": "this has 4", "5 V": `leg 1: "5 V" is not in A`,
		"5,x": "leg 2: ", "5,-3": "above 0"} {
		_, err := ParseList(text, reading.Current)
		require.ErrorContains(t, err, want, text)
	}
}

func TestAccuracies(t *testing.T) {
	for text, want := range map[string]Accuracy{
		"2 % + 3 digits": {0.02, 3}, "±(1.5% + 5)": {0.015, 5}, "1,5 %": {0.015, 0}, "5 digits": {0, 5},
		"2% of reading + 3 counts": {0.02, 3}, "+/- 2 % + 3 dgt": {0.02, 3},
	} {
		got, err := ParseAccuracy(text)
		require.NoError(t, err, text)
		require.InDelta(t, want.Share, got.Share, 1e-12, text)
		require.Equal(t, want.Digits, got.Digits, text)
	}
	for _, text := range []string{"", "2", "two %", "2 % 3 %", "-2 %", "50 %", "0 %", "2 % + digits", "+"} {
		_, err := ParseAccuracy(text)
		require.ErrorContains(t, err, "accuracy", text)
	}
}

func TestRatings(t *testing.T) {
	for text, want := range map[string]Rating{"200/5": {200, 5}, "200:5 A": {200, 5}, "200 A": {200, 0},
		"12.5/1": {12.5, 1}, " 200 / 5 ": {200, 5}} {
		got, err := ParseRating(text)
		require.NoError(t, err, text)
		require.Equal(t, want, got, text)
	}
	for _, text := range []string{"", "200/3", "0/5", "-200/5", "200/5/1", "a"} {
		_, err := ParseRating(text)
		require.ErrorContains(t, err, "is not a rating", text)
	}
}

// Rated primary currents, IEC 61869-2, 5.201, all decades up.
func TestStandardPrimaries(t *testing.T) {
	all := standardPrimaries()
	for _, a := range []float64{10, 12.5, 15, 20, 25, 30, 40, 50, 60, 75, 100, 125, 600, 750, 1000, 1250, 7500, 250, 800,
		1200, 1600} {
		require.Contains(t, all, a)
	}
	require.IsIncreasing(t, all)
}

func TestResultAsJSON(t *testing.T) {
	r := Compare(samples(steady(), 40), reads(t, "leg 1: 40.3 A", "leg 2: 3.0 A"), Options{})
	b, err := json.Marshal(r)
	require.NoError(t, err)
	require.True(t, strings.HasPrefix(string(b), `{"legwork":1,`))
	require.Contains(t, string(b), `"meter":null`)
	require.Contains(t, string(b), `"ct":null`)
	var back Result
	require.NoError(t, json.Unmarshal(b, &back))
	require.Equal(t, r, back)
}

func FuzzParseRead(f *testing.F) {
	for _, text := range []string{"leg 2: 41.3 A", "clamp leg 1: 1 204,5 kV", "leg 3: ± A", "leg 2: 1'000.5 mA"} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		r, err := ParseRead(text)
		if err != nil {
			return
		}
		require.Greater(t, r.Value, 0.0)                              // law 1
		require.Greater(t, r.Digit, 0.0)                              // law 2
		require.True(t, r.Leg >= 1 && r.Leg <= 3)                     // law 3
		if e := r.Evidence(); e != "" && !strings.Contains(e, "e-") { // law 4
			_, err := diagnose.ParseFinding(e)
			require.NoError(t, err, text)
		}
	})
}

func FuzzAccuracyAndRating(f *testing.F) {
	f.Add("2 % + 3 digits")
	f.Add("200/5")
	f.Fuzz(func(t *testing.T, text string) {
		if a, err := ParseAccuracy(text); err == nil {
			again, err := ParseAccuracy(a.String())
			require.NoError(t, err, "law 1: what is told can be read: %q of %q", a.String(), text)
			require.InDelta(t, a.Share, again.Share, 1e-5)
		}
		if r, err := ParseRating(text); err == nil {
			again, err := ParseRating(r.String())
			require.NoError(t, err, "law 2")
			require.InEpsilon(t, r.Primary, again.Primary, 1e-5)
		}
	})
}
