package screen_test

import (
	"bytes"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"legwork/cmd/legwork/internal/screen"
	"legwork/diagnose"
	"legwork/probe/reading"
	"legwork/sim"
)

// A neutral of the service that may be lost has a heading of its own, decided or not, and
// is no work on the wiring.
func TestDangerHasAHeadingOfItsOwn(t *testing.T) {
	if testing.Short() {
		t.Skip("long, and of one goroutine")
	}
	start := time.Date(2026, 5, 4, 9, 30, 0, 0, time.UTC)
	seen := map[diagnose.Verdict]bool{}
	for _, name := range []string{"cottage-bakery", "kiln-house"} {
		for seed := range uint64(6) {
			p, err := sim.Open(name, sim.Options{Fault: "neutral-lost", Seed: seed, Start: start})
			require.NoError(t, err)
			r := diagnose.Diagnose([]reading.Reading{p.At(start)}, diagnose.Options{Service: p.Service()})
			if !r.KeepAway {
				continue
			}
			seen[r.Verdict] = true
			for _, show := range []func(*bytes.Buffer) error{
				func(b *bytes.Buffer) error { return screen.Brief(b, r, screen.Style{}) },
				func(b *bytes.Buffer) error { return screen.Verdict(b, r, screen.Style{}) },
			} {
				var b bytes.Buffer
				require.NoError(t, show(&b))
				require.Contains(t, b.String(), "\n"+screen.KeepAwayHead+"\n  1. Stop: keep away", b.String())
				require.NotContains(t, b.String(), "What to do")
				require.NotContains(t, b.String(), "live work\n")
				require.NotContains(t, b.String(), "MOVE")
			}
		}
	}
	require.True(t, seen[diagnose.Fault] && seen[diagnose.Undecided], "%v", seen)
}
