package desk

import (
	"fmt"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"golang.org/x/crypto/bcrypt"

	"legwork/cmd/legwork/internal/fleet"
	"legwork/cmd/legwork/internal/sites"
	"legwork/cmd/legwork/internal/source"
	"legwork/cmd/legwork/internal/survey"
	"legwork/probe/reading"
)

func bcryptOf(t *testing.T, password string) string {
	h, err := bcrypt.GenerateFromPassword([]byte(password), bcrypt.MinCost)
	require.NoError(t, err)
	return string(h)
}

// amps is a reading of three currents, so many minutes after the beginning.
func amps(minutes float64, currents ...float64) *reading.Reading {
	r := &reading.Reading{At: begin.Add(time.Duration(minutes * float64(time.Minute)))}
	for _, a := range currents {
		r.Channels = append(r.Channels, reading.Channel{Voltage: reading.Known(120.0), Current: reading.Known(a)})
	}
	return r
}

func TestSilence(t *testing.T) {
	for name, c := range map[string]struct {
		hours, first, second, third float64 // A after so many hours
		fell                        bool
	}{
		"an open CT":             {3, 10, 0, 10, true},
		"carried for an hour":    {1, 10, 0, 10, false},
		"all off":                {3, 0, 0, 0, false},
		"less, and not nothing":  {3, 10, 1, 10, false},
		"a trace of the current": {3, 10, 0.05, 10, true},
	} {
		t.Run(name, func(t *testing.T) {
			var s silence
			at := 0.0
			for ; at < 60*c.hours; at += 0.25 {
				require.False(t, s.add(amps(at, 10, 8+math.Sin(at), 12)))
			}
			require.False(t, s.add(amps(at, c.first, c.second, c.third)), "one reading is none")
			require.Equal(t, c.fell, s.add(amps(at+0.25, c.first, c.second, c.third)))
			fell, _ := s.known(1, begin.Add(time.Duration(at)*time.Minute))
			require.Equal(t, c.fell, fell)
			if c.fell {
				require.Contains(t, s.tell("Undecided."), "Channel 2 carried load for hours and has read none since")
				require.True(t, s.add(amps(at+9, 10, 8, 12)), "it carries again")
				require.Equal(t, "x", s.tell("x"))
			}
		})
	}
}

func TestOwner(t *testing.T) {
	// Vectors, so that other machines and versions part a list alike:
	// printf 'gate-1:502\0001' | sha256sum, and so on for each K.
	require.Equal(t, []int{1, 1, 1, 4}, []int{Owner("gate-1:502", 1), Owner("gate-1:502", 2), Owner("gate-1:502", 3),
		Owner("gate-1:502", 4)})
	const wires = 3000
	for n := 1; n < 6; n++ {
		count, moved := make([]int, n+2), 0
		for i := range wires {
			w := fmt.Sprintf("10.0.%d.%d:502", i/256, i%256)
			before, after := Owner(w, n), Owner(w, n+1)
			count[before]++
			if before != after {
				moved++
				require.Equal(t, n+1, after, "what moves goes to the new one")
			}
		}
		require.InDelta(t, wires/(n+1), moved, 0.15*wires/float64(n+1)+30)
		for k := 1; k <= n; k++ {
			require.InDelta(t, wires/n, count[k], 0.15*wires/float64(n))
		}
	}
}

func TestShardsShareAList(t *testing.T) {
	l := &sites.List{}
	for i := range 200 {
		l.Sites = append(l.Sites, &sites.Site{Name: fmt.Sprint(i), Wire: fmt.Sprint("w", i/4)})
	}
	seen := map[string]int{}
	for k := 1; k <= 3; k++ {
		part, err := Shard{k, 3}.Take(l)
		require.NoError(t, err)
		for _, s := range part.Sites {
			seen[s.Name]++
		}
	}
	require.Len(t, seen, 200)
	for name, n := range seen {
		require.Equal(t, 1, n, name)
	}
	l.Sites = append(l.Sites, &sites.Site{Name: "port", Meter: source.Address{Kind: source.RTU, Text: "rtu://COM5"}})
	_, err := Shard{1, 3}.Take(l)
	require.ErrorContains(t, err, "port: rtu://COM5 is a serial port of one machine")
	for text, want := range map[string]Shard{"": {}, "1/1": {1, 1}, "2/3": {2, 3}} {
		s, err := ParseShard(text)
		require.NoError(t, err)
		require.Equal(t, want, s)
	}
	for _, bad := range []string{"0/1", "2/1", "a/b", "1", "1/0", "1/100000"} {
		_, err := ParseShard(bad)
		require.Error(t, err, bad)
	}
}

// A desk over real connections: every meter is read, a changed list is taken up,
// and what stays keeps its evidence.
func TestDeskReadsAndReloads(t *testing.T) {
	f, l := yard(t, fleet.Options{Meters: 24, Wires: 4, Seed: 9})
	d := New(Options{Every: 50 * time.Millisecond, Timeout: 100 * time.Millisecond})
	defer d.Close()
	require.NoError(t, d.Load(l))
	settled := func() bool {
		n := 0
		for _, m := range d.all() {
			if m.brief().Status != survey.Unreadable {
				n++
			}
		}
		answering := 0
		for _, m := range f.Meters {
			if !m.Silent {
				answering++
			}
		}
		return n == answering
	}
	require.Eventually(t, settled, 20*time.Second, 10*time.Millisecond)
	require.Eventually(t, func() bool { return d.find("building-1-main").brief().Power.Known() }, 5*time.Second,
		10*time.Millisecond)

	kept := d.find("suite-1")
	kept.mu.Lock()
	heard := kept.evidence.old.heard
	kept.mu.Unlock()
	less := *l
	less.Sites = append([]*sites.Site{}, l.Sites[:len(l.Sites)-3]...)
	note := *less.Sites[1]
	note.Note = "by the door"
	less.Sites[1] = &note
	require.NoError(t, d.Load(&less))
	require.Len(t, d.all(), 21)
	require.Same(t, kept, d.find("suite-1"))
	kept.mu.Lock()
	require.GreaterOrEqual(t, kept.evidence.old.heard, heard)
	kept.mu.Unlock()
	require.Nil(t, d.find(l.Sites[23].Name))
	moved := note
	moved.Service = "120/240"
	less.Sites[1] = &moved
	require.NoError(t, d.Load(&less))
	require.Equal(t, survey.Unreadable, d.find("suite-1").brief().Status,
		"under another declaration the evidence begins anew")
	for _, s := range f.Servers {
		require.Positive(t, s.Counts().Connections)
	}
}
