package record

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"legwork/diagnose"
	"legwork/probe/reading"
)

// found is a wye whose CTs 2 and 3 are crossed: the prediction for channel 2 is
// from the current that channel 3 reads.
func found() *diagnose.Result {
	one, two, three := 1, 2, 3
	no := false
	r := &diagnose.Result{Verdict: diagnose.Fault, Service: diagnose.ServiceJudged{Name: "120/208Y"}}
	for k, amps := range []float64{10, 20, 30} {
		r.Channels = append(r.Channels, diagnose.ChannelJudged{Channel: k + 1, Current: reading.Known(amps),
			Voltage: reading.Known(120.0)})
	}
	r.Explanations = []diagnose.Explanation{{
		CT: []diagnose.CTPlaced{{Channel: 1, Leg: &one, Reversed: &no}, {Channel: 2, Leg: &three, Reversed: &no},
			{Channel: 3, Leg: &two, Reversed: &no}},
		Expect: []diagnose.ChannelAfter{
			{Channel: 1, Power: watts(120, 10, 20), Angle: reading.Known(reading.Angle(20))},
			{Channel: 2, Power: watts(120, 30, 30), Angle: reading.Known(reading.Angle(30))},
			{Channel: 3, Power: watts(120, 20, 60), Angle: reading.Known(reading.Angle(60))},
		},
	}}
	return r
}

func watts(volts, amps, angle float64) reading.Value {
	return reading.Known(volts * amps * math.Cos(angle*math.Pi/180))
}

// left is what the channels read after the move: currents and angles.
func left(amps, angles [3]float64) *diagnose.Result {
	r := &diagnose.Result{Verdict: diagnose.Agrees}
	for k := range amps {
		r.Channels = append(r.Channels, diagnose.ChannelJudged{Channel: k + 1, Voltage: reading.Known(120.0),
			Current: reading.Known(amps[k]),
			Power:   watts(120, amps[k], angles[k]), Angle: reading.Known(reading.Degrees(angles[k]))})
	}
	return r
}

func TestPredictionsAgainstReadings(t *testing.T) {
	for name, c := range map[string]struct {
		amps, angles [3]float64
		want         [3]Outcome
	}{
		"the same load":    {[3]float64{10, 30, 20}, [3]float64{20, 30, 60}, [3]Outcome{Met, Met, Met}},
		"nine degrees off": {[3]float64{10, 30, 20}, [3]float64{29, 21, 69}, [3]Outcome{Met, Met, Met}},
		"eleven degrees off": {[3]float64{10, 30, 20}, [3]float64{31, 19, 71},
			[3]Outcome{Missed, Missed, Missed}},
		"nothing was moved": {[3]float64{10, 20, 30}, [3]float64{20, 180, -60},
			[3]Outcome{Met, Missed, Missed}},
		"half as much again at one angle": {[3]float64{15, 45, 30}, [3]float64{20, 30, 60}, [3]Outcome{Met, Met, Met}},
		"another load on leg 1": {[3]float64{25, 30, 20}, [3]float64{20, 30, 60},
			[3]Outcome{LoadChanged, Met, Met}},
		"leg 3 without load": {[3]float64{10, 30, 0}, [3]float64{20, 30, 60}, [3]Outcome{Met, Met, LoadChanged}},
	} {
		all := Compare(found(), left(c.amps, c.angles))
		require.Len(t, all, 3)
		for k, one := range all {
			require.Equal(t, c.want[k], one.Outcome, "%s, channel %d", name, k+1)
		}
	}
	all := Compare(found(), left([3]float64{10, 30, 20}, [3]float64{20, 30, 60}))
	require.Equal(t, reading.Known(30.0), all[1].ExpectCurrent, "the CT of channel 3 was on leg 2")
}

func TestWhatCantBeCompared(t *testing.T) {
	require.Empty(t, Compare(nil, found()))
	require.Empty(t, Compare(found(), nil))
	require.Empty(t, Compare(left([3]float64{1, 1, 1}, [3]float64{}), found()), "nothing was predicted where all agreed")
	blank := left([3]float64{10, 30, 20}, [3]float64{20, 30, 60})
	for k := range blank.Channels {
		blank.Channels[k].Power, blank.Channels[k].Angle = reading.Value{}, reading.Maybe[reading.Angle]{}
	}
	for _, one := range Compare(found(), blank) {
		require.Equal(t, NotRead, one.Outcome)
	}
	for _, one := range Compare(found(), &diagnose.Result{}) {
		require.Equal(t, NotRead, one.Outcome)
	}
	power := left([3]float64{10, 30, 20}, [3]float64{20, 30, 60})
	for k := range power.Channels {
		power.Channels[k].Angle = reading.Maybe[reading.Angle]{}
	}
	for _, one := range Compare(found(), power) {
		require.Equal(t, Met, one.Outcome, "the power alone tells too")
	}
}

func TestParseRead(t *testing.T) {
	for text, want := range map[string]Read{
		"12345.6 kWh":            {Name: "", Value: 12345600, Unit: "Wh"},
		"import: 12 345.6 kWh":   {Name: "import", Value: 12345600, Unit: "Wh"},
		"  tariff 2: L1: 3 MWh ": {Name: "tariff 2: L1", Value: 3e6, Unit: "Wh"},
		"208 V":                  {Value: 208, Unit: "V"},
		"0,2 A":                  {Value: 0.2, Unit: "A"},
		"1.5 kVA":                {Value: 1500, Unit: "VA"},
		"7 kvarh":                {Value: 7000, Unit: "varh"},
		"3 kvar":                 {Value: 3000, Unit: "var"},
		"-4 kW":                  {Value: -4000, Unit: "W"},
		"59.98 Hz":               {Value: 59.98, Unit: "Hz"},
		"30 deg":                 {Value: 30, Unit: "deg"},
	} {
		got, err := ParseRead(text)
		require.NoError(t, err, text)
		want.Text = strings.TrimSpace(text)
		require.InDelta(t, want.Value, got.Value, 1e-6, text)
		got.Value, want.Value = 0, 0
		require.Equal(t, want, got)
	}
	for text, want := range map[string]string{
		"":             "write a value with its unit",
		"12345.6":      "write a value with its unit",
		"import: ":     "write a value with its unit",
		"12 bananas":   "is no unit here",
		"12,345 kWh":   "comma",
		"kWh":          "is not a value",
		"import 5 kWh": "not a number",
		"1e5 kWh":      "not a number",
	} {
		_, err := ParseRead(text)
		require.ErrorContains(t, err, want, text)
	}
}

func FuzzParseRead(f *testing.F) {
	f.Add("import: 12 345.6 kWh")
	f.Add("1,000 A")
	f.Fuzz(func(t *testing.T, text string) {
		r, err := ParseRead(text)
		if err != nil {
			return
		}
		require.False(t, math.IsNaN(r.Value) || math.IsInf(r.Value, 0), "law 1: a value is finite")
		require.Contains(t, readUnits, r.Unit, "law 2: and has a unit")
		require.True(t, strings.HasSuffix(r.Text, r.Unit), "law 3: that was written")
	})
}
