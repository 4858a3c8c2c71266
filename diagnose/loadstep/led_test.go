package loadstep

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"legwork/diagnose/wiring"
	"legwork/probe/reading"
)

// bench leads a load step on an invented panel, a reading a second.
type bench struct {
	p      panel
	led    *Led
	at     time.Time
	silent bool // nobody says that the load was theirs
}

func newBench(t *testing.T, p panel, leg int) *bench {
	led, err := Lead(p.service, leg, time.Minute)
	require.NoError(t, err)
	return &bench{p: p, led: led, at: morning}
}

func (b *bench) feed(n int, legs ...[2]float64) { b.add(n, b.p.at(b.at, legs...).Channels...) }

func (b *bench) add(n int, channels ...reading.Channel) {
	for range n {
		b.led.Add(reading.Reading{At: b.at, Service: b.p.service, Channels: channels})
		b.at = b.at.Add(time.Second)
		if !b.silent {
			b.led.Answer(true, b.at)
		}
	}
}

func TestLedLoadStep(t *testing.T) {
	ct := func(leg int, reversed bool) wiring.CT { return wiring.CT{Leg: wiring.Leg(leg), Reversed: reversed} }
	right := []wiring.CT{ct(1, false), ct(2, false), ct(3, false)}
	poor := wye(right...)
	poor.sizes = true
	poorReversed := wye(ct(1, true), ct(2, false), ct(3, false))
	poorReversed.sizes = true
	poorCrossed := wye(ct(1, false), ct(3, false), ct(2, false))
	poorCrossed.sizes = true
	base := [][2]float64{{10, 20}, {12, 25}, {9, 15}}
	for name, c := range map[string]struct {
		p       panel
		leg     int
		after   [][2]float64
		outcome Outcome
		seen    []string
		says    string
	}{
		"the leg's own channel, heat": {wye(right...), 1, [][2]float64{{18, 11}, {12, 25}, {9, 15}}, AsExpected,
			[]string{"leg 1 on: channel 1 up"}, "Channel 1 took it"},
		"the leg's own channel, reversed": {wye(ct(1, true), ct(2, false), ct(3, false)), 1, [][2]float64{{18, 11}, {12, 25}, {9, 15}}, Elsewhere,
			[]string{"leg 1 on: channel 1 down"}, "CT 1 sits on its leg, reversed"},
		"crossed": {wye(ct(1, false), ct(3, false), ct(2, false)), 2, [][2]float64{{10, 20}, {20, 16}, {9, 15}}, Elsewhere,
			[]string{"leg 2 on: channel 3 down"}, "CT 3 sits on leg 2, its arrow right"},
		"crossed and reversed": {wye(ct(1, false), ct(3, true), ct(2, true)), 2, [][2]float64{{10, 20}, {20, 16}, {9, 15}}, Elsewhere,
			[]string{"leg 2 on: channel 3 up"}, "CT 3 sits on leg 2, reversed"},
		"without angles": {poor, 1, [][2]float64{{18, 11}, {12, 25}, {9, 15}}, AsExpected,
			[]string{"leg 1 on: channel 1 up"}, "as it should"},
		"without angles, reversed": {poorReversed, 1, [][2]float64{{18, 11}, {12, 25}, {9, 15}}, Elsewhere,
			[]string{"leg 1 on: channel 1 down"}, "reversed"},
		"without angles, crossed: the arrow isn't told": {poorCrossed, 2, [][2]float64{{10, 20}, {20, 16}, {9, 15}}, Elsewhere,
			[]string{"leg 2 on: channel 3 down"}, "CT 3 sits on leg 2"},
		"split phase, crossed": {split(ct(2, false), ct(1, false)), 1, [][2]float64{{18, 11}, {12, 25}}, Elsewhere,
			[]string{"leg 1 on: channel 2 down"}, "CT 2 sits on leg 1, its arrow right"},
		"crossed, a load whose power can't be told by its direction": {wye(ct(1, false), ct(3, false), ct(2, false)), 2, [][2]float64{{10, 20}, {18.1, 27}, {9, 15}}, Elsewhere,
			[]string{"ct 3 on leg 2"}, "CT 3 sits on leg 2"},
		"split phase, a load between the legs": {split(ct(1, false), ct(2, false)), 1, [][2]float64{{18, 11}, {20, 15}}, Unclear,
			[]string{}, "one between two legs"},
		"two CTs on one leg": {wye(ct(1, false), ct(1, false), ct(3, false)), 1, [][2]float64{{18, 11}, {12, 25}, {9, 15}}, Elsewhere,
			[]string{"ct 1 on leg 1", "ct 2 on leg 1"}, "both CTs sit on leg 1"},
		"three phase": {wye(right...), 1, [][2]float64{{15, 20}, {17, 25}, {14, 15}}, Unclear, []string{}, "Every channel took a load"},
		"nothing":     {wye(right...), 1, base, NothingSeen, []string{"leg 1 on: nothing"}, "No channel took a load within 1m0s"},
	} {
		t.Run(name, func(t *testing.T) {
			b := newBench(t, c.p, c.leg)
			b.feed(6, base...)
			b.feed(62, c.after...)
			require.Equal(t, c.outcome.String(), b.led.Outcome.String(), b.led.Says)
			require.Contains(t, b.led.Says, c.says)
			require.Equal(t, c.seen, wiring.Sentences(b.led.Findings))
			for _, f := range b.led.Findings {
				read, err := wiring.ParseFinding(f.String())
				require.NoError(t, err)
				require.Equal(t, f, read)
			}
		})
	}
}

// A channel that takes a load as one of its own leg, its power up: the load may have been on
// that leg. Nothing is said of the wiring, and what it would be is kept apart.
func TestTheLoadMayBeOnAnotherLeg(t *testing.T) {
	ct := func(leg int, reversed bool) wiring.CT { return wiring.CT{Leg: wiring.Leg(leg), Reversed: reversed} }
	right := wye(ct(1, false), ct(2, false), ct(3, false))
	plain := right
	plain.sizes = true
	for name, c := range map[string]struct {
		p      panel
		leg    int
		says   string
		seen   string
		doubts bool
	}{
		"heat on leg 2": {right, 1, "as a load on leg 2 does. One on leg 1 would lead by 60 degrees, CT 2 reversed: was it on leg 2?",
			"leg 1 on: channel 2 up", true},
		"heat on leg 2, leg 3 said": {right, 3, "One on leg 3 would lag by 60 degrees, CT 2 reversed", "leg 3 on: channel 2 up", true},
		"without angles":            {plain, 1, "One on leg 1 isn't ruled out: was it on leg 2?", "leg 1 on: channel 2 up", true},
		"legs at 180 degrees": {split(ct(1, false), ct(2, false)), 1, "One on leg 1 reads alike with CT 2 reversed: was it on leg 2?",
			"leg 1 on: channel 2 up", true},
		"the leg's own channel": {right, 2,
			"Channel 2 took it: +8.00 A (+0.96 kW), as it should", "", false},
		"CTs 2 and 3 crossed, both reversed": {wye(ct(1, false), ct(3, true), ct(2, true)), 2, "CT 3 sits on leg 2, reversed", "", false},
	} {
		t.Run(name, func(t *testing.T) {
			b := newBench(t, c.p, c.leg)
			b.feed(6, [2]float64{10, 0}, [2]float64{12, 0}, [2]float64{9, 0})
			b.feed(6, [2]float64{10, 0}, [2]float64{20, 0}, [2]float64{9, 0})
			require.Contains(t, b.led.Says, c.says)
			if !c.doubts {
				require.Empty(t, b.led.IfCertain)
				return
			}
			require.Equal(t, Unclear, b.led.Outcome)
			require.Empty(t, b.led.Findings)
			require.Equal(t, []string{c.seen}, wiring.Sentences(b.led.IfCertain))
		})
	}
}

// On a panel at work other loads come and go: what can't be the one that is
// waited for doesn't end the waiting.
func TestLedLoadStepAmongOthers(t *testing.T) {
	b := newBench(t, wye(wiring.CT{Leg: 1}, wiring.CT{Leg: 2}, wiring.CT{Leg: 3}), 1)
	b.feed(6, [2]float64{10, 20}, [2]float64{12, 25}, [2]float64{9, 15})
	b.feed(6, [2]float64{10, 20}, [2]float64{20, 5}, [2]float64{17, 30})
	require.Equal(t, Waiting, b.led.Outcome)
	require.Contains(t, b.led.Note, "Channels 2 and 3 took a load")
	b.feed(6, [2]float64{10, 20}, [2]float64{12, 25}, [2]float64{9, 15})
	require.Equal(t, "A load went off, which isn't it: channel 2 -8.00 A (-1.09 kW), channel 3 -8.00 A (-0.72 kW)",
		b.led.Note)
	b.feed(6, [2]float64{10, 20}, [2]float64{12, 25}, [2]float64{9, 95})
	require.Equal(t, "Angle jumped: channel 3 by 80 degrees, which no load does", b.led.Note)
	require.Equal(t, Waiting, b.led.Outcome)
	b.feed(6, [2]float64{16, 12}, [2]float64{12, 25}, [2]float64{9, 95})
	require.Equal(t, AsExpected, b.led.Outcome)
	require.Contains(t, b.led.Says, "Channel 1 took it")
}

// A load of two amperes shows beside ninety, once the readings are known to be still.
func TestALedStepMayBeSmall(t *testing.T) {
	p := wye(wiring.CT{Leg: 1}, wiring.CT{Leg: 2}, wiring.CT{Leg: 3})
	b := newBench(t, p, 1)
	var coarse Follower
	feed := func(amps float64) {
		for i := range 8 {
			r := p.at(b.at, [2]float64{amps + 0.03*float64(i%3), 10}, [2]float64{85, 12}, [2]float64{95, 8})
			b.led.Add(r)
			_, ok := coarse.Add(r)
			require.False(t, ok, "it is within what may be noise otherwise")
			b.at = b.at.Add(time.Second)
		}
	}
	feed(90)
	feed(92)
	b.led.Answer(true, b.at)
	require.Equal(t, AsExpected, b.led.Outcome, b.led.Says)
}

func TestLegsThatCannotBeLed(t *testing.T) {
	for _, c := range []struct {
		service    string
		leg        int
		what, mend string
	}{
		{"120/240", 3, "leg 3: the service 120/240 has legs 1 to 2", ""},
		{"480D", 2, "leg 2: on the service 480D no CT belongs there", "take another leg"},
		{"", 4, "leg 4: legs are numbered 1 to 3", ""},
		{"120/208Y", 0, "leg 0: the service 120/208Y has legs 1 to 3", ""},
	} {
		var refused wiring.Refused
		require.ErrorAs(t, CheckLeg(c.service, c.leg), &refused)
		require.Equal(t, wiring.Refused{What: c.what, Mend: c.mend}, refused)
		_, err := Lead(c.service, c.leg, time.Minute)
		require.ErrorAs(t, err, &refused)
	}
	led, err := Lead("480D", 3, time.Minute)
	require.NoError(t, err)
	require.Equal(t, "Switch a load of a few amperes between legs 3 and 2 on now", led.Ask())
}
