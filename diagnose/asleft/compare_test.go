package asleft_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"legwork/diagnose"
	"legwork/diagnose/asleft"
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
		want         [3]asleft.Outcome
	}{
		"the same load": {[3]float64{10, 30, 20}, [3]float64{20, 30, 60}, [3]asleft.Outcome{asleft.Met, asleft.Met,
			asleft.Met}},
		"nine degrees off": {[3]float64{10, 30, 20}, [3]float64{29, 21, 69}, [3]asleft.Outcome{asleft.Met, asleft.Met,
			asleft.Met}},
		"twenty degrees and a fifth off": {[3]float64{12, 25, 22}, [3]float64{40, 10, 78},
			[3]asleft.Outcome{asleft.Met, asleft.Met, asleft.Met}},
		"rolled the other way": {[3]float64{30, 20, 10}, [3]float64{-90, -60, -100},
			[3]asleft.Outcome{asleft.Missed, asleft.Missed, asleft.Missed}},
		"nothing was moved": {[3]float64{10, 20, 30}, [3]float64{20, 180, -60},
			[3]asleft.Outcome{asleft.Met, asleft.Missed, asleft.Missed}},
		"half as much again at one angle": {[3]float64{15, 45, 30}, [3]float64{20, 30, 60},
			[3]asleft.Outcome{asleft.Met, asleft.Met, asleft.Met}},
		"another load on leg 1": {[3]float64{25, 30, 20}, [3]float64{20, 30, 60},
			[3]asleft.Outcome{asleft.LoadChanged, asleft.Met, asleft.Met}},
		"leg 3 without load": {[3]float64{10, 30, 0}, [3]float64{20, 30, 60}, [3]asleft.Outcome{asleft.Met, asleft.Met,
			asleft.LoadChanged}},
	} {
		all := judge.Compare(found(), left(c.amps, c.angles))
		require.Len(t, all, 3)
		for k, one := range all {
			require.Equal(t, c.want[k], one.Outcome, "%s, channel %d", name, k+1)
		}
	}
	all := judge.Compare(found(), left([3]float64{10, 30, 20}, [3]float64{20, 30, 60}))
	require.Equal(t, reading.Known(30.0), all[1].ExpectCurrent, "the CT of channel 3 was on leg 2")
}

func TestWhatCantBeCompared(t *testing.T) {
	require.Empty(t, judge.Compare(nil, found()))
	require.Empty(t, judge.Compare(found(), nil))
	require.Empty(t, judge.Compare(left([3]float64{1, 1, 1}, [3]float64{}), found()),
		"nothing was predicted where all agreed")
	blank := left([3]float64{10, 30, 20}, [3]float64{20, 30, 60})
	for k := range blank.Channels {
		blank.Channels[k].Power, blank.Channels[k].Angle = reading.Value{}, reading.Maybe[reading.Angle]{}
	}
	for _, one := range judge.Compare(found(), blank) {
		require.Equal(t, asleft.NotRead, one.Outcome)
	}
	for _, one := range judge.Compare(found(), &diagnose.Result{}) {
		require.Equal(t, asleft.NotRead, one.Outcome)
	}
	power := left([3]float64{10, 30, 20}, [3]float64{20, 30, 60})
	for k := range power.Channels {
		power.Channels[k].Angle = reading.Maybe[reading.Angle]{}
	}
	for _, one := range judge.Compare(found(), power) {
		require.Equal(t, asleft.Met, one.Outcome, "the power alone tells too")
	}
}
