package link

import (
	"context"
	"io"
	"net"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/require"
)

// late serves every request rightly, each the given time after it came.
func late(after ...time.Duration) func(*talker) {
	return func(k *talker) {
		for i := 0; ; i++ {
			request := k.next()
			if request == nil {
				return
			}
			if i < len(after) {
				time.AfterFunc(after[i], func() { k.say(right(request)) })
				continue
			}
			k.say(right(request))
		}
	}
}

// The answer to the first try comes while the second one is waited for; its
// values differ, so that taking it would show.
func TestRetryNeverTakesTheEarlierAnswer(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		m := newMeter(func(k *talker) {
			first := k.next()
			second := k.next()
			stale := right(first)
			stale[10] = 0xEE
			time.Sleep(50 * time.Millisecond)
			k.say(stale)
			k.say(right(second))
			honest(k)
		})
		c := m.link(t, Options{Timeout: short, Retries: 1})

		words, err := c.Registers(t.Context(), sixRegisters)
		require.NoError(t, err)
		require.Equal(t, []uint16{0, 1, 2, 3, 4, 5}, words)

		got := c.Counts()
		require.Equal(t, patience+50*time.Millisecond, got.Slowest, "what the late answer took is told")
		require.Equal(t, Counts{Requests: 2, Retries: 1, Timeouts: 1, LateAnswers: 1,
			BytesSent: 24, BytesReceived: 42, Slowest: got.Slowest}, got)
		require.NoError(t, c.Close())
	})
}

// An answer is waited for at least as long as was asked for and at most an
// eighth longer, whenever the requests before it were.
func TestTimeoutIsKept(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		m := newMeter(func(k *talker) {
			for i := 0; ; i++ {
				if request := k.next(); request == nil {
					return
				} else if i%10 != 9 {
					k.say(right(request))
				}
			}
		})
		c := m.link(t, Options{Timeout: short, Retries: 1})
		for i := range 200 {
			before := c.Counts().Timeouts
			begin := time.Now()
			_, err := c.Registers(t.Context(), sixRegisters)
			require.NoError(t, err)
			if c.Counts().Timeouts > before {
				require.GreaterOrEqual(t, time.Since(begin), short)
				require.LessOrEqual(t, time.Since(begin), patience)
			}
			time.Sleep(time.Duration(i) * time.Millisecond) // the bubble's time
		}
		require.EqualValues(t, 22, c.Counts().Timeouts)
		require.NoError(t, c.Close())
	})
}

// Each answer comes after its own request's timeout; the library, left alone,
// would stay one transaction behind for good.
func TestLateAnswersDoNotShiftLaterOnes(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		m := newMeter(late(patience+30*time.Millisecond, patience+30*time.Millisecond, 100*time.Millisecond))
		c := m.link(t, Options{Timeout: short, Retries: 2})
		for address := uint16(100); address < 500; address += 100 {
			words, err := c.Registers(t.Context(), Read{1, ReadHolding, address, 1})
			require.NoError(t, err)
			require.Equal(t, []uint16{address}, words)
		}
		require.EqualValues(t, 2, c.Counts().LateAnswers)
		require.EqualValues(t, 0, c.Counts().Redials)
		require.NoError(t, c.Close())
	})
}

func TestTriesAreTold(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		m := newMeter(func(k *talker) {
			for k.next() != nil {
			}
		})
		c := m.link(t, Options{Timeout: short, Retries: 2})
		begin := time.Now()
		_, err := c.Registers(t.Context(), sixRegisters)
		require.EqualError(t, err, "tcp kiln-house:502: unit 1, holding registers 0-5: no answer within 200ms (3 tries); "+
			"is the unit number right and the meter powered? a slow gateway needs a longer timeout")
		require.Equal(t, 3*patience, time.Since(begin))
		require.Len(t, m.requests(), 3)
		require.NoError(t, c.Close())
	})
}

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
		require.Equal(t, Counts{Requests: 2, Retries: 1, Timeouts: 1, Redials: 1, BytesSent: 24, BytesReceived: 32}, c.Counts())
		require.NoError(t, c.Close())
	})
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

func TestContextEndsARequest(t *testing.T) {
	tests := []struct {
		name  string
		limit func(context.Context) (context.Context, context.CancelFunc)
		want  string
		is    error
	}{
		{"cancelled", func(ctx context.Context) (context.Context, context.CancelFunc) {
			ctx, cancel := context.WithCancel(ctx)
			time.AfterFunc(20*time.Millisecond, cancel)
			return ctx, cancel
		}, "stopped before the meter answered", context.Canceled},
		{"over", func(ctx context.Context) (context.Context, context.CancelFunc) {
			return context.WithTimeout(ctx, 20*time.Millisecond)
		}, "the time allowed was over before the meter answered", context.DeadlineExceeded},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				m := newMeter(func(k *talker) { k.next(); k.next() }, honest)
				c := m.link(t, Options{Timeout: short, Retries: 5})
				ctx, cancel := test.limit(t.Context())
				defer cancel()
				begin := time.Now()
				_, err := c.Registers(ctx, sixRegisters)
				require.EqualError(t, err, "tcp kiln-house:502: unit 1, holding registers 0-5: "+test.want)
				require.ErrorIs(t, err, test.is)
				require.Equal(t, 20*time.Millisecond, time.Since(begin))

				_, err = c.Registers(ctx, sixRegisters)
				require.ErrorIs(t, err, test.is, "a context that is over sends nothing")
				require.Len(t, m.requests(), 1)

				_, err = c.Registers(t.Context(), sixRegisters)
				require.NoError(t, err)
				require.NoError(t, c.Close())
			})
		})
	}
}

// A caller who stops is no failure of the meter: no pause comes of it.
func TestStoppingIsNoFailure(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		silent := func(k *talker) {
			for k.next() != nil {
			}
		}
		c := newMeter(silent, silent, silent, silent, honest).link(t, Options{Timeout: short})
		for range 4 {
			ctx, cancel := context.WithTimeout(t.Context(), short/2)
			_, err := c.Registers(ctx, sixRegisters)
			require.ErrorIs(t, err, context.DeadlineExceeded)
			cancel()
		}
		begin := time.Now()
		_, err := c.Registers(t.Context(), sixRegisters)
		require.NoError(t, err)
		require.Zero(t, time.Since(begin))
		require.NoError(t, c.Close())
	})
}

// Only a request's own context ends it, whichever was watched before.
func TestContextOfAnEarlierRequestIsForgotten(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		m := newMeter(late(0, 0, 50*time.Millisecond, 50*time.Millisecond))
		c := m.link(t, Options{Timeout: short})
		first, cancelFirst := context.WithCancel(t.Context())
		second, cancelSecond := context.WithCancel(t.Context())
		defer cancelSecond()
		for _, ctx := range []context.Context{first, first} {
			_, err := c.Registers(ctx, sixRegisters)
			require.NoError(t, err)
		}
		cancelFirst() // while nothing is in flight
		synctest.Wait()
		_, err := c.Registers(second, sixRegisters)
		require.NoError(t, err)
		time.AfterFunc(20*time.Millisecond, cancelSecond)
		_, err = c.Registers(t.Context(), sixRegisters)
		require.NoError(t, err)
		require.Zero(t, c.Counts().Redials)
		require.NoError(t, c.Close())
	})
}

// An end of a context that comes while the next request begins is not its.
func TestLateEndOfAnEarlierContext(t *testing.T) {
	ours, theirs := net.Pipe()
	defer theirs.Close()
	first, cancelFirst := context.WithCancel(t.Context())
	second, cancelSecond := context.WithCancel(t.Context())
	defer cancelFirst()
	defer cancelSecond()
	var w watch
	w.begin(first, ours)
	w.begin(second, ours)
	w.ended(first.Done())
	require.NoError(t, ours.SetDeadline(time.Time{}), "still open")
	w.ended(second.Done())
	require.Error(t, ours.SetDeadline(time.Time{}))
	w.end()
}

// A request that waits for its turn is stopped by its own context.
func TestContextEndsTheWaitForATurn(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		c := newMeter(func(k *talker) { k.next(); k.next() }).link(t, Options{Timeout: time.Hour})
		go func() { _, _ = c.Registers(t.Context(), sixRegisters) }()
		synctest.Wait()
		ctx, cancel := context.WithTimeout(t.Context(), short)
		defer cancel()
		_, err := c.Registers(ctx, sixRegisters)
		require.ErrorIs(t, err, context.DeadlineExceeded)
		require.NoError(t, c.Close())
	})
}

func TestCloseEndsARequest(t *testing.T) {
	tests := []struct {
		name string
		dial func(context.Context) (net.Conn, error)
	}{
		{"that waits for an answer", newMeter(func(k *talker) { k.next(); k.next() }).dial},
		{"that waits for a connection", func(ctx context.Context) (net.Conn, error) {
			<-ctx.Done()
			return nil, ctx.Err()
		}},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				c := newTCP("kiln-house:502", Options{Timeout: time.Hour, DialTimeout: time.Hour, Retries: 3}, test.dial)
				failed := make(chan error)
				go func() {
					_, err := c.Registers(t.Context(), sixRegisters)
					failed <- err
				}()
				synctest.Wait()
				begin := time.Now()
				require.NoError(t, c.Close())
				require.ErrorIs(t, <-failed, ErrClosed)
				require.Zero(t, time.Since(begin), "at once")

				_, err := c.Registers(t.Context(), sixRegisters)
				require.ErrorIs(t, err, ErrClosed)
				require.NoError(t, c.Close(), "twice does no harm")
			})
		})
	}
}

func TestBusyMeterIsAskedAgain(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		m := newMeter(thenHonest(func(r []byte) []byte { return withPDU(r, 0x83, byte(ServerDeviceBusy)) }))
		c := m.link(t, Options{Timeout: short, Retries: 1})
		words, err := c.Registers(t.Context(), sixRegisters)
		require.NoError(t, err)
		require.Len(t, words, 6)
		require.EqualValues(t, 1, c.Counts().Exceptions)
		require.NoError(t, c.Close())
	})
}

func TestRefusalIsNotAskedAgain(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		m := newMeter(thenHonest(func(r []byte) []byte { return withPDU(r, 0x83, byte(IllegalDataAddress)) }))
		c := m.link(t, Options{Timeout: short, Retries: 3})
		_, err := c.Registers(t.Context(), sixRegisters)
		require.ErrorIs(t, err, IllegalDataAddress)
		require.Len(t, m.requests(), 1)
		require.NoError(t, c.Close())
	})
}

// Units share a connection and never each other's answers.
func TestSeveralUnitsAtOnce(t *testing.T) {
	c := newMeter(honest).link(t, Options{Timeout: 10 * time.Second})
	var all sync.WaitGroup
	for unit := range byte(8) {
		all.Go(func() {
			for i := range uint16(100) {
				r := Read{unit, ReadHolding, uint16(unit)*1000 + i, 1 + i%5}
				words, err := c.Registers(context.Background(), r)
				if err != nil || len(words) != int(r.Count) || words[0] != r.Address {
					t.Errorf("%v: %v, %v", r, words, err)
				}
			}
		})
	}
	all.Wait()
	require.EqualValues(t, 800, c.Counts().Requests)
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
		require.Equal(t, want, withPort(address), address)
	}
}
