package watch

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"legwork/diagnose"
	"legwork/diagnose/wiring"
	"legwork/probe/reading"
)

// panel is what an invented panel reads: legs' currents at their own load
// angles, through CTs that sit where an arrangement has them. It follows
// theta_k = phi_m + (arg E_k - arg E_m) + 180 r, worked out here on its own.
type panel struct {
	service string
	volts   []float64 // degrees of the legs
	ct      []wiring.CT
	sizes   bool // the meter gives V, I and P only
}

func wye(ct ...wiring.CT) panel {
	return panel{service: "120/208Y", volts: []float64{0, -120, 120}, ct: ct}
}

func split(ct ...wiring.CT) panel {
	return panel{service: "120/240", volts: []float64{0, 180}, ct: ct}
}

// at gives the reading with each leg's current in A and angle in degrees.
func (p panel) at(t time.Time, legs ...[2]float64) reading.Reading {
	r := reading.Reading{At: t, Service: p.service}
	for k, ct := range p.ct {
		leg := legs[ct.Leg-1]
		theta := leg[1] + p.volts[k] - p.volts[ct.Leg-1]
		if ct.Reversed {
			theta += 180
		}
		c := reading.Channel{Voltage: reading.Known(120.0), Current: reading.Known(leg[0]),
			Power: reading.Known(120 * leg[0] * math.Cos(theta*math.Pi/180))}
		if !p.sizes {
			c.Angle = reading.Known(reading.Degrees(theta))
			c.VoltageAngle = reading.Known(reading.Degrees(p.volts[k]))
		}
		r.Channels = append(r.Channels, c)
	}
	return r
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
			nil, "one between two legs"},
		"two CTs on one leg": {wye(ct(1, false), ct(1, false), ct(3, false)), 1, [][2]float64{{18, 11}, {12, 25}, {9, 15}}, Elsewhere,
			[]string{"ct 1 on leg 1", "ct 2 on leg 1"}, "both CTs sit on leg 1"},
		"three phase": {wye(right...), 1, [][2]float64{{15, 20}, {17, 25}, {14, 15}}, Unclear, nil, "Every channel took a load"},
		"nothing":     {wye(right...), 1, base, NothingSeen, []string{"leg 1 on: nothing"}, "No channel took a load within 1m0s"},
	} {
		t.Run(name, func(t *testing.T) {
			at := morning
			s := NewSession(Options{Diagnose: diagnose.Options{Service: c.p.service}, Now: func() time.Time { return at }})
			feed := func(n int, legs [][2]float64) {
				for range n {
					s.Add(c.p.at(at, legs...))
					s.Judge()
					at = at.Add(time.Second)
				}
			}
			feed(1, base)
			require.NoError(t, s.Lead(c.leg, time.Minute))
			feed(6, base)
			feed(62, c.after)
			g := s.Guide()
			require.Equal(t, c.outcome.String(), g.Outcome.String(), g.Says)
			require.Contains(t, g.Says, c.says)
			require.Equal(t, c.seen, g.Seen)
			for _, text := range g.Seen {
				_, err := diagnose.ParseFinding(text)
				require.NoError(t, err)
			}
			if c.outcome == AsExpected || c.outcome == Elsewhere {
				require.Equal(t, c.seen, s.seen, "it is folded in")
			} else {
				require.Empty(t, s.seen)
			}
		})
	}
}

// On a panel at work other loads come and go: what can't be the one that is
// waited for doesn't end the waiting.
func TestLedLoadStepAmongOthers(t *testing.T) {
	p := wye(wiring.CT{Leg: 1}, wiring.CT{Leg: 2}, wiring.CT{Leg: 3})
	at := morning
	s := NewSession(Options{Diagnose: diagnose.Options{Service: p.service}, Now: func() time.Time { return at }})
	feed := func(legs ...[2]float64) {
		for range 6 {
			s.Add(p.at(at, legs...))
			s.Judge()
			at = at.Add(time.Second)
		}
	}
	feed([2]float64{10, 20}, [2]float64{12, 25}, [2]float64{9, 15})
	require.NoError(t, s.Lead(1, time.Minute))
	feed([2]float64{10, 20}, [2]float64{12, 25}, [2]float64{9, 15})
	feed([2]float64{10, 20}, [2]float64{20, 5}, [2]float64{17, 30})
	require.Equal(t, Waiting, s.Guide().Outcome)
	require.Contains(t, s.Guide().Note, "Channels 2 and 3 took a load")
	feed([2]float64{10, 20}, [2]float64{12, 25}, [2]float64{9, 15})
	require.Contains(t, s.Guide().Note, "went off")
	feed([2]float64{16, 12}, [2]float64{12, 25}, [2]float64{9, 15})
	require.Equal(t, AsExpected, s.Guide().Outcome)
	require.Contains(t, s.Guide().Says, "Channel 1 took it")
}

// On 120/240 'all reversed' and 'crossed' read alike: a led step settles it.
func TestLedStepSettlesATwin(t *testing.T) {
	p := split(wiring.CT{Leg: 2}, wiring.CT{Leg: 1})
	at := morning
	s := NewSession(Options{Diagnose: diagnose.Options{Service: p.service}, Now: func() time.Time { return at }})
	feed := func(legs ...[2]float64) {
		for range 6 {
			s.Add(p.at(at, legs...))
			at = at.Add(time.Second)
			s.Judge()
		}
	}
	feed([2]float64{40, 10}, [2]float64{45, 12})
	require.Contains(t, s.Result().Summary, "can't be told from")
	_, jobs := (&Model{s: s, wide: 80}).nextWords()
	require.Equal(t, "Test before you move", jobs[0].head)
	require.NoError(t, s.Lead(1, time.Minute))
	feed([2]float64{40, 10}, [2]float64{45, 12})
	feed([2]float64{50, 8}, [2]float64{45, 12})
	require.Equal(t, Elsewhere, s.Guide().Outcome)
	require.Contains(t, s.Result().Explanations[0].Words, "CTs 1 and 2 are crossed")
	_, jobs = (&Model{s: s, wide: 80}).nextWords()
	require.Len(t, jobs, 1, "no test is worth its while now")
	require.Contains(t, jobs[0].head, "Move")
}

func TestAStepIsSeenOnceItStays(t *testing.T) {
	p := wye(wiring.CT{Leg: 1}, wiring.CT{Leg: 2}, wiring.CT{Leg: 3})
	var s stepper
	at := morning
	add := func(amps float64) (Step, bool) {
		at = at.Add(time.Second)
		return s.add(at, levelsOf(p.at(at, [2]float64{amps, 0}, [2]float64{10, 0}, [2]float64{10, 0})))
	}
	for range 3 {
		_, ok := add(10)
		require.False(t, ok)
	}
	_, ok := add(14) // a meter that averages shows a part first
	require.False(t, ok)
	_, ok = add(18)
	require.False(t, ok)
	step, ok := add(18)
	require.True(t, ok)
	require.Equal(t, "Load on: channel 1 +8.00 A (+0.96 kW)", step.Words())
	_, ok = add(18.02)
	require.False(t, ok, "noise")
	add(10)
	step, ok = add(10)
	require.True(t, ok)
	require.Equal(t, "Load off: channel 1 -8.01 A (-0.96 kW)", step.Words())
	for i := range 3 * swings {
		_, ok = add(10 + 5*float64(i%7))
		require.False(t, ok, "a load that swings is no step")
	}
}

// However fast a meter is asked that shows a step in parts over a second, it is
// one step.
func TestAStepIsOneHoweverFastItIsRead(t *testing.T) {
	p := wye(wiring.CT{Leg: 1}, wiring.CT{Leg: 2}, wiring.CT{Leg: 3})
	for _, every := range []time.Duration{2 * time.Millisecond, 100 * time.Millisecond, 500 * time.Millisecond, time.Second, 3 * time.Second} {
		for _, fine := range []bool{false, true} {
			s := stepper{fine: fine}
			var sizes []float64
			for d := time.Duration(0); d < 60*time.Second; d += every {
				part := math.Floor(8*(d.Seconds()-20)) / 8 // eighths, from 20 s to 21 s
				amps := 90 + 12*max(0, min(1, part))
				if step, ok := s.add(morning.Add(d), levelsOf(p.at(morning, [2]float64{amps, 0}, [2]float64{50, 0}, [2]float64{50, 0}))); ok {
					require.Equal(t, []int{0}, step.Channels)
					sizes = append(sizes, step.Amps(0))
				}
			}
			require.Len(t, sizes, 1, "every %s, fine %v: %v", every, fine, sizes)
			require.InDelta(t, 12, sizes[0], 2)
		}
	}
}

// A load of two amperes shows beside ninety, once the readings are known to be still.
func TestALedStepMayBeSmall(t *testing.T) {
	p := wye(wiring.CT{Leg: 1}, wiring.CT{Leg: 2}, wiring.CT{Leg: 3})
	at := morning
	s := NewSession(Options{Diagnose: diagnose.Options{Service: p.service}, Now: func() time.Time { return at }})
	feed := func(amps float64) {
		for i := range 8 {
			s.Add(p.at(at, [2]float64{amps + 0.03*float64(i%3), 10}, [2]float64{85, 12}, [2]float64{95, 8}))
			s.Judge()
			at = at.Add(time.Second)
		}
	}
	feed(90)
	require.NoError(t, s.Lead(1, time.Minute))
	feed(90)
	feed(92)
	require.Equal(t, AsExpected, s.Guide().Outcome, s.Guide().Says)
	list, _ := s.Events(0)
	for _, e := range list {
		require.NotContains(t, e.Text, "Load on", "it is within what may be noise otherwise")
	}
}

func TestLegsThatCannotBeLed(t *testing.T) {
	for _, c := range []struct {
		service string
		leg     int
		want    string
	}{
		{"120/240", 3, "has legs 1 to 2"}, {"480D", 2, "no CT belongs there"}, {"", 4, "numbered 1 to 3"}, {"120/208Y", 0, "has legs 1 to 3"},
	} {
		require.ErrorContains(t, CheckLeg(c.service, c.leg), c.want)
	}
	require.NoError(t, CheckLeg("480D", 3))
	require.Equal(t, "Switch a load of a few amperes between legs 3 and 2 on now", (&Guide{Leg: 3}).Ask("480D"))
}
