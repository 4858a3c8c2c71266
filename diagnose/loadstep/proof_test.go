package loadstep

import (
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"legwork/diagnose/wiring"
	"legwork/probe/reading"
)

// proving leads a step on leg 1 of a sound wye, with a proof, nobody being there to answer.
func proving(t *testing.T, by Proof) *bench {
	b := newBench(t, wye(wiring.CT{Leg: 1}, wiring.CT{Leg: 2}, wiring.CT{Leg: 3}), 1)
	b.led.By, b.silent = by, true
	return b
}

func (b *bench) first(n int, amps float64) {
	b.feed(n, [2]float64{amps, 20}, [2]float64{12, 25}, [2]float64{9, 15})
}

// A change of load is an answer once the person says so.
func TestAPersonSaysWhoseLoadItWas(t *testing.T) {
	b := proving(t, Asked)
	b.first(6, 10)
	b.first(3, 16)
	require.Equal(t, Asking, b.led.Outcome)
	require.Equal(t, "Channel 1 rose by 6.00 A (0.68 kW) at 09:30:07. Was that yours?", b.led.Question)
	b.first(90, 16)
	require.Equal(t, Asking, b.led.Outcome, "it waits for an answer, however long")
	b.led.Answer(false, b.at)
	require.Equal(t, Waiting, b.led.Outcome)
	require.Empty(t, b.led.Findings)
	b.first(5, 16)
	b.first(3, 25)
	b.led.Answer(true, b.at)
	require.Equal(t, AsExpected, b.led.Outcome)
	require.Contains(t, b.led.Says, "+9.00 A")
	require.Equal(t, []string{"leg 1 on: channel 1 up"}, wiring.Sentences(b.led.Findings))

	b = proving(t, Asked)
	b.first(6, 10)
	b.first(3, 16)
	b.led.End()
	require.Equal(t, Unclear, b.led.Outcome)
	require.Empty(t, b.led.Findings, "nobody said that it was theirs")
}

// The size that was said tells the load from others.
func TestALoadOfTheSizeThatIsExpected(t *testing.T) {
	b := proving(t, Sized)
	b.led.Expect = Size{Watts: 700}
	b.first(6, 10)
	b.first(5, 20)
	require.Equal(t, Waiting, b.led.Outcome, b.led.Note)
	require.Contains(t, b.led.Note, "isn't the 0.7 kW that is expected")
	b.first(5, 26)
	require.Equal(t, AsExpected, b.led.Outcome)
	for text, want := range map[string]Size{"1.5kW": {Watts: 1500}, "1500 W": {Watts: 1500}, "12 A": {Amps: 12},
		"0,5 kW": {Watts: 500}} {
		got, err := ParseSize(text)
		require.NoError(t, err, text)
		require.Equal(t, want, got, text)
	}
	for _, text := range []string{"", "1.5", "-2 kW", "0 A", "kW", "3 kWh"} {
		_, err := ParseSize(text)
		require.Error(t, err, text)
	}
}

// A load that goes off and comes back on request, and then stays, was the person's.
func TestALoadThatComesBackOnRequest(t *testing.T) {
	b := proving(t, Twice)
	b.first(6, 10)
	b.first(6, 16)
	require.Contains(t, b.led.Ask(), "Channel 1 rose by 6.00 A (0.68 kW). Switch it off again now")
	b.first(8, 10)
	require.Contains(t, b.led.Ask(), "Switch the same load on once more")
	b.first(4, 16)
	require.Contains(t, b.led.Ask(), "Leave it on")
	require.Equal(t, Waiting, b.led.Outcome)
	b.first(12, 16)
	require.Equal(t, AsExpected, b.led.Outcome, b.led.Says)

	b = proving(t, Twice)
	b.first(6, 10)
	b.first(70, 16)
	require.Equal(t, Unclear, b.led.Outcome)
	require.Contains(t, b.led.Says, "didn't go off again as asked")
	require.Empty(t, b.led.Findings)
}

// A load that cycles by itself is never taken for the person's, whatever its times and
// however the step is proved.
func TestACyclingLoadIsNobodysTest(t *testing.T) {
	if testing.Short() {
		t.Skip("long, and of one goroutine")
	}
	rng := rand.New(rand.NewPCG(51, 52))
	stirred := 0
	for range 300 {
		for _, by := range []Proof{Asked, Sized, Twice} {
			b := proving(t, by)
			b.led.Expect = Size{Watts: 680}
			on, off := 4+40*rng.Float64(), 4+40*rng.Float64()
			b.first(6, 10)
			for b.at.Sub(morning) < 10*time.Minute {
				b.first(int(on*(0.85+0.3*rng.Float64())), 16)
				b.first(int(off*(0.85+0.3*rng.Float64())), 10)
			}
			if len(b.led.Step.Changes) > 0 {
				stirred++
			}
			b.led.End()
			require.NotContains(t, []Outcome{AsExpected, Elsewhere}, b.led.Outcome, "%v: on %.0f s, off %.0f s: %s",
				by, on, off, b.led.Says)
			require.Empty(t, wiring.Sentences(told(b.led)))
		}
	}
	require.Greater(t, stirred, 600)
}

// told are the findings that count without a person's word.
func told(l *Led) []wiring.Finding {
	if l.Outcome == NothingSeen {
		return nil
	}
	return l.Findings
}

// Of one change of load there is one size, whoever follows it.
func TestAFollowerMayBeShared(t *testing.T) {
	p := wye(wiring.CT{Leg: 1}, wiring.CT{Leg: 2}, wiring.CT{Leg: 3})
	led, err := Lead(p.service, 1, time.Minute)
	require.NoError(t, err)
	f := Follower{Fine: true}
	var seen Step
	feed := func(amps float64) {
		for range 6 {
			r := p.at(morning, [2]float64{amps, 20}, [2]float64{12, 25}, [2]float64{9, 15})
			r.At = f.at.Add(time.Second)
			if f.at.IsZero() {
				r.At = morning
			}
			step, ok := f.Add(r)
			if ok {
				seen = step
			}
			led.Take(Followed{reading.Reading{At: r.At, Channels: r.Channels}, step, ok, f.Steady()})
		}
	}
	feed(10)
	feed(16)
	require.Equal(t, Asking, led.Outcome)
	require.Equal(t, seen.Changes, led.Step.Changes)
	require.Contains(t, led.Question, "rose by 6.00 A")
	led.Answer(true, f.at)
	require.Contains(t, led.Says, "+6.00 A")
}
