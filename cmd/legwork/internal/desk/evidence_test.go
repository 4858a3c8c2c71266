package desk

import (
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"legwork/diagnose"
	"legwork/sim"
)

var begin = time.Date(2026, 5, 4, 9, 30, 0, 0, time.UTC)

// changes are wirings before and after a hand was in the panel, with what the
// verdict's words are after.
var changes = []struct{ before, after, words string }{
	{"", "ct1-reversed", "CT 1 is reversed"},
	{"", "ct2-reversed", "CT 2 is reversed"},
	{"ct1-reversed", "", ""},
	{"", "ct1-ct2-crossed", "crossed"},
}

// A CT that is turned round after hours of right wiring is named within minutes,
// and nothing wrong is said in between. The bounds are those of ten minutes'
// window: what was heard before a change is forgotten within it.
func TestChangesAreFound(t *testing.T) {
	if testing.Short() {
		t.Skip("shares of one goroutine's verdicts: nothing to race")
	}
	const hours, every, after = 2 * time.Hour, 15 * time.Second, 25 * time.Minute
	var took []time.Duration
	missed, wrong, verdicts, open := 0, 0, 0, 0
	for i, name := range sim.Names() {
		for k, c := range changes {
			p, err := sim.Open(name, sim.Options{Seed: uint64(10*i + k + 1), Start: begin, Fault: c.before})
			require.NoError(t, err)
			e := newEvidence(diagnose.Options{Service: p.Service(), Tables: tables})
			turned := begin.Add(hours + time.Duration(37*(4*i+k))*time.Second)
			found := time.Duration(0)
			for at := begin; at.Before(turned.Add(after)); at = at.Add(every) {
				if !at.Before(turned) && at.Add(-every).Before(turned) {
					require.NoError(t, p.SetFault(c.after))
				}
				r := p.At(at)
				e.add(&r)
				if at.Sub(begin) < 5*time.Minute || at.Sub(begin)%time.Minute != 0 && at.Before(turned) {
					continue
				}
				x := e.result()
				verdicts++
				is, was := right(&x, c.after, c.words), right(&x, c.before, "CT 1 is reversed")
				switch {
				case x.Verdict == diagnose.Undecided:
					open++
				case !is && (!was || at.After(turned.Add(after/2))):
					wrong++
					t.Logf("%s, %q to %q, %s after: %s", name, c.before, c.after, at.Sub(turned), x.Summary)
				case is && found == 0 && !at.Before(turned):
					found = at.Sub(turned) + every
				}
			}
			if found == 0 {
				missed++
				t.Logf("missed: %s, %q to %q", name, c.before, c.after)
				continue
			}
			took = append(took, found)
		}
	}
	slices.Sort(took)
	t.Logf("%d changes found, median %s, 90 %% %s, longest %s; %d missed; of %d verdicts %d wrong, %d undecided",
		len(took), took[len(took)/2],
		took[len(took)*9/10], took[len(took)-1], missed, verdicts, wrong, open)
	require.LessOrEqual(t, missed, 1)
	require.LessOrEqual(t, took[len(took)*9/10], 7*time.Minute)
	require.LessOrEqual(t, wrong, verdicts/500)
}

// right reports a verdict that says what is there: the words, or, where readings
// can't tell it from others, one of the twins.
func right(r *diagnose.Result, fault, words string) bool {
	if fault == "" {
		return r.Verdict == diagnose.Agrees
	}
	if r.Verdict != diagnose.Fault {
		return false
	}
	x := r.Explanations[0]
	return strings.Contains(x.Words, words) || len(x.Twins) > 0
}
