package pulses

import (
	"encoding/json"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"legwork/diagnose/wiring"
)

func TestConstantsAsTheyStandOnMeters(t *testing.T) {
	for text, want := range map[string]float64{
		"1000 imp/kWh": 1, "0.5 Wh/imp": 0.5, "3200 pulses/kWh": 0.3125, "1 000 imp / kWh": 1, "0,8 Wh/pulse": 0.8,
		"2 imp/Wh": 0.5, "1 kWh/imp": 1000, "500/kWh": 2, "1 imp/MWh": 1e6, "1000 IMP/KWH": 1,
	} {
		got, err := ParseConstant(text)
		require.NoError(t, err, text)
		require.InEpsilon(t, want, float64(got), 1e-12, text)
	}
}

func TestConstantsAreRefused(t *testing.T) {
	for text, want := range map[string]string{
		"": "say `1000 imp/kWh`", "1000": "say `1000 imp/kWh`", "1000 imp": "say", "imp/kWh": "can't be read",
		"0 imp/kWh": "not possible", "-5 Wh/imp": "not possible",
		"1,000 imp/kWh": "can't be read", "1e3 imp/kWh": "can't be read", "1000 imp/kW": "say",
		"1000000 MWh/imp": "not possible", "0.5 W/imp": "say",
	} {
		_, err := ParseConstant(text)
		require.ErrorContains(t, err, want, text)
		require.NotContains(t, err.Error(), "\n")
	}
}

// By hand: 200 pulses of 0.5 Wh in 36 s are 100 Wh in 0.01 h, so 10 kW.
func TestErrorByHand(t *testing.T) {
	o := Options{Constant: 0.5}
	c := Count{N: 200, Over: 36 * time.Second, AtPulses: true}
	r, err := Compare(c, Stated(10_000, 0.001), o)
	require.NoError(t, err)
	require.InDelta(t, 10_000, r.PulseWatts, 1e-6)
	require.InDelta(t, 0, r.Error, 1e-12)
	// Hand 0.3 s of 36 s and power 0.1 %, both normal: hypot(0.833, 0.1) %.
	require.InDelta(t, math.Hypot(0.3/36, 0.001), r.ErrorHigh, 2e-5)
	require.Equal(t, wiring.Agrees, r.Verdict)
	r, err = Compare(c, Stated(9_000, 0.001), o)
	require.NoError(t, err)
	require.Equal(t, wiring.Fault, r.Verdict)
	require.InDelta(t, 10.0/9-1, r.Error, 1e-12)
}

// A count from anywhere may lack a pulse or have one too many: of 10 pulses,
// triangular within 10 %, so 7.8 % at 95 of 100.
func TestQuantisation(t *testing.T) {
	o := Options{Constant: 1, Timing: time.Millisecond}
	r, err := Compare(Count{N: 10, Over: time.Minute}, Stated(600, 1e-6), o)
	require.NoError(t, err)
	require.InDelta(t, 0.1*(1-math.Sqrt(0.05)), r.ErrorHigh, 2e-4)
	require.Equal(t, wiring.Undecided, r.Verdict)
	require.Contains(t, r.Summary, "count ")
	wanted := r.WantedPulses.Or(0)
	require.InDelta(t, (1-math.Sqrt(0.05))/0.02, wanted, 2, "about 39 pulses make 2 %")
	again, err := Compare(Count{N: int(wanted), Over: time.Duration(r.WantedSeconds.Or(0)) * time.Second},
		Stated(600, 1e-6), o)
	require.NoError(t, err)
	require.LessOrEqual(t, (again.ErrorHigh-again.ErrorLow)/2, 0.0205, "the advice, followed, is enough")
}

// A power that is known too badly can't be made up for by counting.
func TestNoCountIsLongEnough(t *testing.T) {
	r, err := Compare(Count{N: 10, Over: time.Minute}, Stated(600, 0.05), Options{Constant: 1})
	require.NoError(t, err)
	require.False(t, r.WantedSeconds.Known())
	require.Contains(t, r.Summary, "no count is long enough")
}

func TestMultiplierThatIsMissing(t *testing.T) {
	c := Count{N: 100, Over: time.Minute, AtPulses: true}
	r, err := Compare(c, Stated(240_000, 0.01), Options{Constant: 1})
	require.NoError(t, err)
	require.Contains(t, r.Summary, "about a factor of 40")
	r, err = Compare(c, Stated(240_000, 0.01), Options{Constant: 1, Multiplier: 40})
	require.NoError(t, err)
	require.Equal(t, wiring.Agrees, r.Verdict, r.Summary)
	r, err = Compare(c, Stated(4_300, 0.01), Options{Constant: 1})
	require.NoError(t, err)
	require.NotContains(t, r.Summary, "factor")
}

func TestCountsThatCantBe(t *testing.T) {
	for _, c := range []Count{{}, {N: -1, Over: time.Second}, {N: 1}, {N: 1, Over: -time.Second},
		{N: 100, Over: time.Second}, {N: 1, Over: 1000 * time.Hour}, {N: 2_000_000, Over: 100 * time.Hour}} {
		_, err := Compare(c, Stated(1, 0.01), Options{Constant: 1})
		require.Error(t, err, "%+v", c)
	}
	for _, watts := range []float64{0, -5, math.NaN()} {
		_, err := Compare(Count{N: 10, Over: time.Minute}, Stated(watts, 0.01), Options{Constant: 1})
		require.ErrorContains(t, err, "put a load on")
	}
}

func TestTaps(t *testing.T) {
	at := time.Date(2026, 5, 4, 9, 30, 0, 0, time.UTC)
	c, err := Taps([]time.Time{at, at.Add(3 * time.Second), at.Add(9 * time.Second)})
	require.NoError(t, err)
	require.Equal(t, Count{N: 2, Over: 9 * time.Second, AtPulses: true}, c)
	for _, taps := range [][]time.Time{nil, {at}} {
		_, err := Taps(taps)
		require.ErrorIs(t, err, errNoInterval)
	}
	_, err = Taps([]time.Time{at, at})
	require.ErrorContains(t, err, "above 0")
}

// Samples during the count: a slow change is in their mean, and only their
// noise is open.
func TestPowerDuringACountThatDrifts(t *testing.T) {
	var watts []float64
	for i := range 100 {
		watts = append(watts, 1000+float64(i)) // 10 % in all
	}
	during, before := During(watts), Before(watts, 99*time.Second, 99*time.Second)
	require.InDelta(t, 1049.5, during.Watts, 1e-9)
	require.Less(t, during.Deviation, 0.0001)
	require.Greater(t, before.Deviation, 0.02)
	require.InDelta(t, loneDoubt, Before(watts[:1], 0, time.Minute).Deviation, 1e-12)
	require.Zero(t, During(nil).Watts)
}

func TestResultAsJSON(t *testing.T) {
	r, err := Compare(Count{N: 10, Over: time.Minute}, Stated(600, 0.05), Options{Constant: 1})
	require.NoError(t, err)
	b, err := json.Marshal(r)
	require.NoError(t, err)
	require.True(t, strings.HasPrefix(string(b), `{"legwork":1,`))
	require.Contains(t, string(b), `"wanted_seconds":null`)
	var back Result
	require.NoError(t, json.Unmarshal(b, &back))
	require.Equal(t, r, back)
}

func FuzzParseConstant(f *testing.F) {
	f.Add("1000 imp/kWh")
	f.Add("0,5 Wh/imp")
	f.Add("1'000.5/MWh")
	f.Fuzz(func(t *testing.T, text string) {
		c, err := ParseConstant(text)
		if err != nil {
			return
		}
		require.True(t, c >= leastWh && c <= mostWh, "law: a constant is possible: %q", text)
	})
}
