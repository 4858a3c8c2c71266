package watch

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"legwork/diagnose"
	"legwork/diagnose/loadstep"
	"legwork/diagnose/wiring"
)

// On 120/240 'all reversed' and 'crossed' read alike: a led step settles it.
func TestLedStepSettlesATwin(t *testing.T) {
	p := split(wiring.CT{Leg: 2}, wiring.CT{Leg: 1})
	at := morning
	s := NewSession(Options{Diagnose: diagnose.Options{Service: p.service, Tables: tables}, Now: func() time.Time { return at }})
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
	require.Equal(t, loadstep.Asking, s.led.Outcome)
	require.Contains(t, strings.Join((&Model{s: s, wide: 80}).ledLines(s.led, 80, at), "\n"), "Was that yours?")
	s.Answer(true, at)
	s.Judge()
	require.Equal(t, loadstep.Elsewhere, s.led.Outcome)
	require.Equal(t, []string{"leg 1 on: channel 2 down"}, wiring.Sentences(s.findings), "it is folded in")
	require.Contains(t, s.Result().Explanations[0].Words, "CTs 1 and 2 are crossed")
	_, jobs = (&Model{s: s, wide: 80}).nextWords()
	require.Len(t, jobs, 1, "no test is worth its while now")
	require.Contains(t, jobs[0].head, "Move")
}
