package loadstep

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"legwork/diagnose/wiring"
)

func TestAStepIsSeenOnceItStays(t *testing.T) {
	p := wye(wiring.CT{Leg: 1}, wiring.CT{Leg: 2}, wiring.CT{Leg: 3})
	var s Follower
	at := morning
	add := func(amps float64) (Step, bool) {
		at = at.Add(time.Second)
		return s.Add(p.at(at, [2]float64{amps, 0}, [2]float64{10, 0}, [2]float64{10, 0}))
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
	require.Equal(t, "Load on: channel 1 +8.00 A (+0.96 kW)", step.String())
	_, ok = add(18.02)
	require.False(t, ok, "noise")
	add(10)
	step, ok = add(10)
	require.True(t, ok)
	require.Equal(t, "Load off: channel 1 -8.01 A (-0.96 kW)", step.String())
	for i := range 24 {
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
			s := Follower{Fine: fine}
			var sizes []float64
			for d := time.Duration(0); d < 60*time.Second; d += every {
				part := math.Floor(8*(d.Seconds()-20)) / 8 // eighths, from 20 s to 21 s
				amps := 90 + 12*max(0, min(1, part))
				if step, ok := s.Add(p.at(morning.Add(d), [2]float64{amps, 0}, [2]float64{50, 0}, [2]float64{50, 0})); ok {
					require.Len(t, step.Changes, 1)
					require.Equal(t, 1, step.Changes[0].Channel)
					sizes = append(sizes, step.Changes[0].Amps)
				}
			}
			require.Len(t, sizes, 1, "every %s, fine %v: %v", every, fine, sizes)
			require.InDelta(t, 12, sizes[0], 2)
		}
	}
}
