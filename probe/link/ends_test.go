package link

import (
	"context"
	"net"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/require"
)

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
