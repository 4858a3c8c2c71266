package link

import (
	"context"
	"io"
	"net"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/require"
)

// flood sends bytes of no frame for as long as anyone takes them.
func flood(conn net.Conn) {
	go func() { _, _ = io.Copy(io.Discard, conn) }()
	bytes := make([]byte, 4096)
	for i := range bytes {
		bytes[i] = 0xF7
	}
	for {
		if _, err := conn.Write(bytes); err != nil {
			return
		}
	}
}

// flooded gives a link over a socket to a port that is never silent. It must
// have filled the socket before anything is asked.
func flooded(t *testing.T, o Options) *RTU {
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	t.Cleanup(func() { _ = listener.Close() })
	go func() {
		for {
			conn, err := listener.Accept()
			if err != nil {
				return
			}
			go flood(conn)
		}
	}()
	c, err := DialRTU(t.Context(), listener.Addr().String(), o)
	require.NoError(t, err)
	t.Cleanup(func() { _ = c.Close() })
	return c
}

// ends fails the test where f takes longer than patience of this machine.
func ends(t *testing.T, f func()) {
	t.Helper()
	done := make(chan struct{})
	go func() { defer close(done); f() }()
	select {
	case <-done:
	case <-time.After(20 * time.Second):
		t.Fatal("it never ends")
	}
}

// A converter's port that sends without end and as fast as it can is given up
// like any other.
func TestAPortThatNeverStopsSending(t *testing.T) {
	for _, name := range []string{"asked once", "asked again"} {
		t.Run(name, func(t *testing.T) {
			c := flooded(t, Options{Timeout: 300 * time.Millisecond})
			ends(t, func() {
				_, err := c.Registers(t.Context(), sixRegisters)
				require.ErrorContains(t, err, "bytes came that are no answer; check speed and parity")
				if name == "asked again" {
					_, err = c.Registers(t.Context(), sixRegisters)
					require.ErrorAs(t, err, new(BadAnswer))
				}
			})
			require.Positive(t, c.Counts().BytesReceived)
		})
	}
}

// Whatever comes, a request ends with its context: while it waits for silence,
// for an answer, and through the late window.
func TestAPortThatNeverStopsSendingIsLeft(t *testing.T) {
	c := flooded(t, Options{Timeout: time.Hour})
	for range 3 {
		ctx, cancel := context.WithTimeout(t.Context(), 20*time.Millisecond)
		ends(t, func() {
			_, err := c.Registers(ctx, sixRegisters)
			require.ErrorIs(t, err, context.DeadlineExceeded)
		})
		cancel()
	}
}

// The same within the process, where the reader is another one; there the time
// is told to the nanosecond.
func TestAPipeThatNeverStopsSending(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		c, _ := serialTo(t, Options{Timeout: short}, func(s *slave) {
			go func() { _, _ = io.Copy(io.Discard, s.Conn) }()
			for range 100_000 {
				if _, err := s.Write([]byte{0xF7, 0xF7}); err != nil {
					return
				}
				time.Sleep(time.Microsecond)
			}
		})
		begun := time.Now()
		ctx, cancel := context.WithTimeout(t.Context(), short/4)
		defer cancel()
		_, err := c.Registers(ctx, sixRegisters)
		require.ErrorIs(t, err, context.DeadlineExceeded)
		require.Equal(t, short/4, time.Since(begun))
		require.NoError(t, c.Close())
		time.Sleep(time.Second) // the far end sees it
	})
}
