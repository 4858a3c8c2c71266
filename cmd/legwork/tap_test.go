package main

import (
	"bytes"
	"context"
	"io"
	"runtime"
	"strings"
	"testing"
	"time"

	"github.com/creack/pty"
	"github.com/stretchr/testify/require"
	"golang.org/x/term"
)

// keys gives one read a key, and then the end.
type keys struct{ left []string }

func (k *keys) Read(p []byte) (int, error) {
	if len(k.left) == 0 {
		return 0, io.EOF
	}
	n := copy(p, k.left[0])
	k.left = k.left[1:]
	return n, nil
}

// ticking is a clock that goes on by a second at each look.
func ticking() func() time.Time {
	at := time.Date(2026, 5, 4, 9, 30, 0, 0, time.UTC)
	return func() time.Time {
		at = at.Add(time.Second)
		return at
	}
}

func TestTapsAreTimed(t *testing.T) {
	for name, c := range map[string]struct {
		keys    []string
		taps    int
		seconds float64
		err     error
	}{
		"three and q":           {[]string{" ", " ", " ", "q", " "}, 3, 2, nil},
		"the end of input":      {[]string{" ", "x"}, 2, 1, nil},
		"one taken back":        {[]string{" ", " ", " ", "\x7f", "q"}, 2, 1, nil},
		"more back than struck": {[]string{" ", "\x08", "\x08", " ", "q"}, 1, 0, nil},
		"an arrow is no tap":    {[]string{" ", "\x1b[A", " ", "Q"}, 2, 2, nil},
		"interrupted":           {[]string{" ", " ", "\x03"}, 2, 1, errInterrupted},
		"nothing":               {nil, 0, 0, nil},
	} {
		var show bytes.Buffer
		at, err := (&tapper{in: &keys{c.keys}, show: &show, now: ticking()}).run(context.Background())
		require.Equal(t, c.err, err, name)
		require.Len(t, at, c.taps, name)
		if len(at) > 0 {
			require.InDelta(t, c.seconds, at[len(at)-1].Sub(at[0]).Seconds(), 1e-9, name)
		}
		require.True(t, strings.HasPrefix(show.String(), "Strike a key"), name)
	}
}

func TestTapsEndWithTheCommand(t *testing.T) {
	ctx, stop := context.WithCancel(context.Background())
	stop()
	in, out := io.Pipe()
	defer out.Close()
	_, err := (&tapper{in: in, show: io.Discard, now: ticking()}).run(ctx)
	require.ErrorIs(t, err, errInterrupted)
}

// On a real pseudo-terminal: keys come one by one without Enter, and the
// terminal is as before afterwards.
func TestTapOnATerminal(t *testing.T) {
	for _, power := range [][]string{{"--power", "3.6 kW"}, {"sim:kiln-house", "--interval", "1ms"}} {
		t.Run(power[0], func(t *testing.T) { tapOn(t, power) })
	}
}

func tapOn(t *testing.T, power []string) {
	if runtime.GOOS == "windows" {
		t.Skip("no pseudo-terminals here")
	}
	us, tty, err := pty.Open()
	require.NoError(t, err)
	defer us.Close()
	defer tty.Close()
	before, err := term.GetState(int(tty.Fd()))
	require.NoError(t, err)
	said := &signalling{wrote: make(chan struct{}, 16)}
	var out bytes.Buffer
	done := make(chan int, 1)
	go func() {
		done <- run(append([]string{"pulses", "--constant", "1 imp/kWh", "--tap"}, power...), tty, &out, said)
	}()
	<-said.wrote // the invitation
	for range 3 {
		_, err = us.Write([]byte(" "))
		require.NoError(t, err)
		<-said.wrote // the count
	}
	_, err = us.Write([]byte("q"))
	require.NoError(t, err)
	code := <-done
	require.Contains(t, []int{exitFault, exitWrong}, code, "three strokes in no time are no sane count of 1 kWh each")
	require.Contains(t, said.text.String(), "\x1b[K3  ", "the third stroke was counted")
	after, err := term.GetState(int(tty.Fd()))
	require.NoError(t, err)
	require.Equal(t, before, after, "the terminal is as it was")
}

// signalling keeps what is written, and tells of every write.
type signalling struct {
	wrote chan struct{}
	text  bytes.Buffer
}

func (s *signalling) Write(p []byte) (int, error) {
	s.text.Write(p)
	s.wrote <- struct{}{}
	return len(p), nil
}
