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

// A connection that a server closed while it was idle is no failure.
func TestClosedWhileIdle(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		m := newMeter(once(right), honest)
		c := m.link(t, Options{Timeout: short})
		for range 2 {
			words, err := c.Registers(t.Context(), sixRegisters)
			require.NoError(t, err)
			require.Len(t, words, 6)
		}
		require.EqualValues(t, 1, c.Counts().Redials)
		require.EqualValues(t, 0, c.Counts().Retries)
		require.NoError(t, c.Close())
	})
}

// What is left of a connection that broke, time and bytes, is not the next one's.
func TestNewConnectionBeginsAnew(t *testing.T) {
	silent := func(k *talker) {
		for k.next() != nil {
		}
	}
	synctest.Test(t, func(t *testing.T) {
		c := newMeter(once(right), silent, honest).link(t, Options{Timeout: short})
		_, err := c.Registers(t.Context(), sixRegisters)
		require.NoError(t, err)
		begin := time.Now()
		_, err = c.Registers(t.Context(), sixRegisters)
		require.ErrorAs(t, err, new(NoAnswer))
		require.Equal(t, patience, time.Since(begin))
		require.NoError(t, c.Close())
	})
	synctest.Test(t, func(t *testing.T) {
		half := thenHonest(func(r []byte) []byte { return right(r)[:11] })
		c := newMeter(half, honest).link(t, Options{Timeout: short, Retries: 1})
		words, err := c.Registers(t.Context(), sixRegisters)
		require.NoError(t, err)
		require.Equal(t, []uint16{0, 1, 2, 3, 4, 5}, words)
		require.Equal(t, Counts{Requests: 2, Retries: 1, Timeouts: 1, Unusable: 1, Redials: 1, Answers: 1, BytesSent: 24, BytesReceived: 32}, c.Counts())
		require.NoError(t, c.Close())
	})
}

// Behind a gateway that takes one connection, a silent meter costs its own time
// and no connection.
func TestSharedConnectionOutlastsSilence(t *testing.T) {
	for shared, redials := range map[bool]int{true: 0, false: 1} {
		synctest.Test(t, func(t *testing.T) {
			answers := func(k *talker) {
				for n := 0; ; n++ {
					request := k.next()
					if request == nil {
						return
					}
					if request[6] != 9 {
						k.say(right(request))
					}
				}
			}
			c := newMeter(answers, answers).link(t, Options{Timeout: short, Shared: shared})
			for _, unit := range []byte{1, 9, 1} {
				_, err := c.Registers(t.Context(), Read{unit, ReadHolding, 0, 6})
				require.Equal(t, unit == 9, err != nil)
			}
			require.EqualValues(t, redials, c.Counts().Redials)
			require.NoError(t, c.Close())
		})
	}
}

func TestPauseBeforeRedialGrows(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		m := newMeter(func(k *talker) { k.next() })
		c := m.link(t, Options{Timeout: short})
		var waited []time.Duration
		for range 9 {
			begin := time.Now()
			_, err := c.Registers(t.Context(), sixRegisters)
			require.Error(t, err)
			waited = append(waited, time.Since(begin).Truncate(time.Millisecond))
		}
		ms := time.Millisecond
		require.Equal(t, []time.Duration{0, 0, 100 * ms, 200 * ms, 400 * ms, 800 * ms, 1600 * ms, 3200 * ms, 5000 * ms}, waited)

		m.scripts = []func(*talker){honest}
		for range 2 {
			_, err := c.Registers(t.Context(), sixRegisters)
			require.NoError(t, err)
		}
		require.NoError(t, c.Close())
	})
}

func TestRefusedConnection(t *testing.T) {
	refuse := func(context.Context) (net.Conn, error) {
		return nil, &net.OpError{Op: "dial", Net: "tcp", Err: connectionRefused}
	}
	synctest.Test(t, func(t *testing.T) {
		c := newTCP("10.0.0.7:502", Options{Retries: 2}, refuse)
		begin := time.Now()
		_, err := c.Registers(t.Context(), sixRegisters)
		require.EqualError(t, err, "tcp 10.0.0.7:502: connection refused (3 tries); "+
			"is the gateway's Modbus port open and no other client connected?")
		require.Equal(t, 100*time.Millisecond, time.Since(begin), "no pause before the second, one before the third")
		require.NoError(t, c.Close())
	})
}

func TestConnectingTakesTooLong(t *testing.T) {
	hang := func(ctx context.Context) (net.Conn, error) {
		<-ctx.Done()
		return nil, &net.OpError{Op: "dial", Net: "tcp", Err: ctx.Err()}
	}
	synctest.Test(t, func(t *testing.T) {
		c := newTCP("10.0.0.7:502", Options{}, hang)
		begin := time.Now()
		_, err := c.Registers(t.Context(), sixRegisters)
		require.EqualError(t, err, "tcp 10.0.0.7:502: no connection in time; is the meter powered and on this network?")
		require.Equal(t, defaultDialTimeout, time.Since(begin))
		require.True(t, err.(*Error).Timeout())
		require.NoError(t, c.Close())
	})
}

func TestDialTCP(t *testing.T) {
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	address := listener.Addr().String()
	accepted := make(chan net.Conn, 1)
	go func() {
		conn, _ := listener.Accept()
		accepted <- conn
	}()
	c, err := DialTCP(t.Context(), address, Options{})
	require.NoError(t, err)
	require.NoError(t, c.Close())
	_, err = (<-accepted).Read(make([]byte, 1))
	require.Equal(t, io.EOF, err)

	require.NoError(t, listener.Close())
	_, err = DialTCP(t.Context(), address, Options{})
	require.EqualError(t, err, "tcp "+address+": connection refused; is the gateway's Modbus port open and no other client connected?")
}

func TestPortIsFilledIn(t *testing.T) {
	for address, want := range map[string]string{
		"10.0.0.7":      "10.0.0.7:502",
		"10.0.0.7:1502": "10.0.0.7:1502",
		"kiln-house":    "kiln-house:502",
		"fe80::1":       "[fe80::1]:502",
		"[fe80::1]":     "[fe80::1]:502",
		"[fe80::1]:503": "[fe80::1]:503",
	} {
		require.Equal(t, want, withPort(address, modbusPort), address)
	}
}
