package watch

import (
	"errors"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"legwork/cmd/legwork/internal/screen"
	"legwork/diagnose"
	"legwork/diagnose/loadstep"
	"legwork/diagnose/wiring"
)

// shelf keeps words, or fails to.
type shelf struct {
	words []Word
	full  error
}

func (s *shelf) keep(w Word) (int, error) {
	if s.full != nil {
		return 0, s.full
	}
	s.words = append(s.words, w)
	return len(s.words), nil
}

func texts(s *Session) []string {
	list, _ := s.Events(0)
	var all []string
	for _, e := range list {
		all = append(all, e.Text)
	}
	return all
}

// Nothing is acknowledged that isn't kept: a word that can't be is not weighed
// either, and stands to be sent again.
func TestWordsAreKeptBeforeTheyAreAcknowledged(t *testing.T) {
	b := newBench(t, "kiln-house", "ct2-reversed", screen.Style{})
	var s shelf
	b.m.s.o.Keep = s.keep
	b.size(100, 30)
	b.read(3)
	b.press("t", "ct 2 arrow wrong", "enter")
	require.Equal(t, []Word{{Test: "ct 2 arrow wrong"}}, s.words)
	require.Contains(t, texts(b.m.s), "Test result: ct 2 arrow wrong (entry 1)")

	s.full = errors.New("the disk is full")
	b.press("t", "ct 1 arrow right", "enter")
	require.Contains(t, b.screen(), "not kept: the disk is full")
	require.Contains(t, b.screen(), "ct 1 arrow right", "it stays typed")
	require.Equal(t, []string{"ct 2 arrow wrong"}, wiring.Sentences(b.m.s.findings))
	s.full = nil
	b.press("enter")
	require.Equal(t, []string{"ct 2 arrow wrong", "ct 1 arrow right"}, wiring.Sentences(b.m.s.findings))

	b.press("t", "it hums", "enter", "esc")
	require.Len(t, s.words, 2, "what isn't understood isn't kept")
	b.press("n", "esc")
	require.Len(t, s.words, 2, "it was taken back")
	b.press("n", "turned CT 2", "enter")
	require.Equal(t, Word{Move: "turned CT 2"}, s.words[2])
	require.Contains(t, texts(b.m.s), "Moved: turned CT 2 (entry 3). Judged anew from 09:30:02")
	b.read(2)
	require.Contains(t, b.screen(), "09:30:04  judged from 09:30:02", "the verdict says the same")
	b.press("n", "enter")
	require.Equal(t, Word{Move: "the wiring was changed"}, s.words[3])
}

// A led load step is one word, whatever sentences it yields.
func TestALedLoadStepIsKept(t *testing.T) {
	for name, c := range map[string]struct {
		after   [2]float64
		outcome loadstep.Outcome
	}{
		"the load came":    {[2]float64{16, 12}, loadstep.AsExpected},
		"nothing was seen": {[2]float64{10, 20}, loadstep.NothingSeen},
	} {
		t.Run(name, func(t *testing.T) {
			p := wye(wiring.CT{Leg: 1}, wiring.CT{Leg: 2}, wiring.CT{Leg: 3})
			at := morning
			var kept shelf
			s := NewSession(Options{Diagnose: diagnose.Options{Service: p.service, Tables: tables}, Now: func() time.Time { return at }, Keep: kept.keep})
			feed := func(n int, first [2]float64) {
				for range n {
					s.Add(p.at(at, first, [2]float64{12, 25}, [2]float64{9, 15}))
					s.Judge()
					at = at.Add(time.Second)
				}
			}
			feed(3, [2]float64{10, 20})
			require.NoError(t, s.Lead(1, 20*time.Second))
			feed(6, [2]float64{10, 20})
			feed(6, c.after)
			require.Empty(t, kept.words, "nobody said that it was theirs")
			s.Answer(true, at)
			feed(24, c.after)
			require.Len(t, kept.words, 1)
			require.Equal(t, c.outcome, kept.words[0].Step.Outcome)
			if c.outcome == loadstep.NothingSeen {
				require.Empty(t, s.findings, "the load may not have come on")
			} else {
				require.Equal(t, []string{"leg 1 on: channel 1 up"}, wiring.Sentences(s.findings), "it is folded in")
				words := strings.Join(texts(s), "\n")
				require.Contains(t, words, "Load on: channel 1 +6.00 A (+0.75 kW)", "one size in the events")
				require.Contains(t, words, "Channel 1 rose by 6.00 A (0.75 kW) at 09:30:")
				require.Contains(t, words, "Channel 1 took it: +6.00 A (+0.75 kW)")
				require.InDelta(t, 6, kept.words[0].Step.Step.Changes[0].Rise, 0.005, "and in the record")
			}
		})
	}
}

func TestAChangeThatTheRecordDoesntKnow(t *testing.T) {
	const asks = "The record doesn't hold that change: press n to note it"
	for name, keeps := range map[string]bool{"with a record": true, "without": false} {
		t.Run(name, func(t *testing.T) {
			b := newBench(t, "kiln-house", "ct2-reversed", screen.Style{})
			if keeps {
				b.m.s.o.Keep = new(shelf).keep
			}
			b.read(60)
			require.NoError(t, b.place.SetFault(""))
			b.read(20)
			require.Equal(t, diagnose.Agrees, b.m.s.Result().Verdict)
			if keeps {
				require.Contains(t, texts(b.m.s), asks)
			} else {
				require.NotContains(t, texts(b.m.s), asks)
			}
		})
	}
}

// A load that cycles by itself is kept as nobody's test, however long a step is led.
func TestACyclingLoadIsNotKept(t *testing.T) {
	p := wye(wiring.CT{Leg: 1}, wiring.CT{Leg: 2}, wiring.CT{Leg: 3})
	at := morning
	var kept shelf
	s := NewSession(Options{Diagnose: diagnose.Options{Service: p.service, Tables: tables}, Now: func() time.Time { return at },
		Keep: kept.keep})
	for i := range 300 {
		first := [2]float64{10, 20}
		if i/20%2 == 1 {
			first = [2]float64{16, 12}
		}
		s.Add(p.at(at, first, [2]float64{12, 25}, [2]float64{9, 15}))
		s.Judge()
		at = at.Add(time.Second)
		if i == 5 {
			require.NoError(t, s.Lead(1, 30*time.Second))
		}
		if i == 200 {
			require.Equal(t, loadstep.Asking, s.led.Outcome)
			s.Answer(false, at)
		}
	}
	require.Empty(t, s.findings)
	for _, w := range kept.words {
		require.NotContains(t, []loadstep.Outcome{loadstep.AsExpected, loadstep.Elsewhere}, w.Step.Outcome)
	}
}
