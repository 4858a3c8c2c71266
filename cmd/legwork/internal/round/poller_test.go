package round

import (
	"context"
	"io"
	"net"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"legwork/cmd/legwork/internal/sites"
)

func TestLapse(t *testing.T) {
	for failures, want := range map[int]int{1: 1, 2: 2, 3: 4, 4: 8, 5: 10, 40: 10, 100: 10} {
		require.Equal(t, want, lapse(failures), failures)
	}
}

// run polls until enough outcomes are there.
func run(t *testing.T, p *Poller, all []*sites.Site, enough func([]Outcome) bool) []Outcome {
	ctx, stop := context.WithTimeout(t.Context(), 20*time.Second)
	defer stop()
	var got []Outcome
	p.Each = func(o Outcome) {
		if got = append(got, o); enough(got) {
			stop()
		}
	}
	p.Run(ctx, all)
	require.True(t, enough(got), "in time")
	return got
}

// A silent meter is asked in fewer and fewer rounds; the others in all.
func TestSilentMeterFallsOff(t *testing.T) {
	_, l := gateway(t, []byte{1, 3}, 3)
	p := &Poller{Options: Options{Timeout: 5 * time.Millisecond, Maps: l.Maps}, Every: 10 * time.Millisecond}
	got := run(t, p, l.Sites, func(all []Outcome) bool { return len(all) > 0 && all[len(all)-1].Round >= 40 })
	tries, good := 0, 0
	for _, o := range got {
		switch {
		case o.Site.Name == "m2":
			require.Error(t, o.Err)
			tries++
		case o.Err == nil:
			good++
		}
	}
	require.LessOrEqual(t, tries, 5+3)
	require.GreaterOrEqual(t, tries, 3)
	require.Greater(t, good, 4*tries)
}

// Of a wire that says nothing one meter is asked in a round.
func TestSilentWireCostsOneTry(t *testing.T) {
	_, l := gateway(t, nil, 20)
	p := &Poller{Options: Options{Timeout: 2 * time.Millisecond, Maps: l.Maps}, Every: 5 * time.Millisecond}
	got := run(t, p, l.Sites, func(all []Outcome) bool { return len(all) >= 26 })
	later, rounds := 0, map[int]bool{}
	for _, o := range got {
		if o.Round > 0 {
			later++
			rounds[o.Round] = true
		}
	}
	require.Equal(t, later, len(rounds), "one a round, after the first")
	require.GreaterOrEqual(t, later, 6)
}

// It comes back when the meters do, without having been told.
func TestWireThatComesBack(t *testing.T) {
	s, l := gateway(t, []byte{1, 2, 3}, 3)
	at, err := s.ListenTCP("127.0.0.1:0")
	require.NoError(t, err)
	front, err := net.Listen("tcp", "127.0.0.1:0") // it takes connections and says nothing at first
	require.NoError(t, err)
	defer front.Close()
	var mu sync.Mutex
	var held []net.Conn
	go func() {
		for {
			c, err := front.Accept()
			if err != nil {
				return
			}
			mu.Lock()
			held = append(held, c)
			mu.Unlock()
		}
	}()
	l = listOf(t, front.Addr().String(), 3, l.Maps["m"])
	p := &Poller{Options: Options{Timeout: 5 * time.Millisecond, Maps: l.Maps}, Every: 5 * time.Millisecond}
	passed := false
	got := run(t, p, l.Sites, func(all []Outcome) bool {
		last := all[len(all)-1]
		if last.Round > 2 && !passed { // from now on it passes everything on
			passed = true
			_ = front.Close()
			again, err := net.Listen("tcp", front.Addr().String())
			require.NoError(t, err)
			t.Cleanup(func() { _ = again.Close() })
			go pass(again, at.String())
			mu.Lock()
			for _, c := range held {
				_ = c.Close()
			}
			mu.Unlock()
		}
		return last.Err == nil && last.Site.Name == "m3"
	})
	require.NoError(t, got[len(got)-1].Err)
}

// pass hands bytes on.
func pass(l net.Listener, to string) {
	for {
		c, err := l.Accept()
		if err != nil {
			return
		}
		d, err := net.Dial("tcp", to)
		if err != nil {
			return
		}
		go func() { _, _ = io.Copy(d, c) }()
		go func() { _, _ = io.Copy(c, d) }()
	}
}
