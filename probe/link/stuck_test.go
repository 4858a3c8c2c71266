package link

import (
	"context"
	"errors"
	"runtime"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/require"
	"go.bug.st/serial"
)

// driver is what stands behind a serial port, in the time of a synctest bubble.
// Calls named by hangs don't come back before free is closed.
type driver struct {
	serial.Port // nil: what isn't named below is never called

	mu      sync.Mutex
	hangs   map[call]bool
	free    chan struct{}
	opened  int
	closed  int
	wait    time.Duration
	answers []byte
}

func newDriver(hangs ...call) *driver {
	d := &driver{hangs: map[call]bool{}, free: make(chan struct{})}
	for _, c := range hangs {
		d.hangs[c] = true
	}
	return d
}

// hang is the driver at fault, until it is free.
func (d *driver) hang(c call) {
	d.mu.Lock()
	hangs := d.hangs[c]
	d.mu.Unlock()
	if hangs {
		<-d.free
	}
}

func (d *driver) mend() {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.hangs = nil
}

func (d *driver) open() (serial.Port, error) {
	d.hang(opening)
	d.mu.Lock()
	defer d.mu.Unlock()
	d.opened++
	return d, nil
}

func (d *driver) Write(b []byte) (int, error) {
	d.hang(writing)
	d.mu.Lock()
	defer d.mu.Unlock()
	d.answers = append(d.answers, rightRTU(b)...)
	return len(b), nil
}

func (d *driver) SetReadTimeout(t time.Duration) error {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.wait = t
	return nil
}

func (d *driver) Read(into []byte) (int, error) {
	d.mu.Lock()
	wait := d.wait
	d.mu.Unlock()
	if wait > 0 { // not when it is only looked
		d.hang(reading)
	}
	d.mu.Lock()
	n := copy(into, d.answers)
	d.answers = d.answers[n:]
	d.mu.Unlock()
	if n == 0 {
		time.Sleep(wait)
	}
	return n, nil
}

func (d *driver) Close() error {
	d.hang(closing)
	d.mu.Lock()
	defer d.mu.Unlock()
	d.closed++
	return nil
}

func (d *driver) ports() *ports {
	return &ports{Serial: Serial{Port: "COM5"}.withDefaults(), open: d.open}
}

func (d *driver) link(ctx context.Context) (*RTU, error) {
	p := d.ports()
	return openRTU(ctx, "rtu "+p.String(), serialPort, Options{Timeout: short, Retries: 3}, p.pace(), p.dial)
}

// Whatever call the system never comes back from, a request ends with what to
// do, within its time-out and the driver's overtime, whatever the retries.
func TestAPortThatNeverReturns(t *testing.T) {
	const advice = " the port; unplug the adapter and plug it in again, and restart the computer if that does not help"
	tests := []struct {
		name    string
		stuckIn call
		want    string
	}{
		{"open", opening, "rtu COM5 19200 8E1: this computer does not come back from opening"},
		{"write", writing, "rtu COM5 19200 8E1: unit 1, holding registers 0-5: this computer does not come back from writing to"},
		{"read", reading, "rtu COM5 19200 8E1: unit 1, holding registers 0-5: this computer does not come back from reading from"},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				d := newDriver(test.stuckIn)
				begun := time.Now()
				c, err := d.link(t.Context())
				if err == nil {
					_, err = c.Registers(t.Context(), sixRegisters)
				}
				require.EqualError(t, err, test.want+advice)
				require.ErrorAs(t, err, new(StuckPort))
				require.LessOrEqual(t, time.Since(begun), short+overtime+slice)
				if c != nil {
					begun = time.Now()
					require.NoError(t, c.Close())
					require.Zero(t, time.Since(begun))
				}
				close(d.free)
				synctest.Wait()
				require.Equal(t, d.opened, d.closed, "closed once it comes back after all")
			})
		})
	}
}

// Closing that never comes back is left after a second.
func TestAPortThatNeverCloses(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		d := newDriver(closing)
		c, err := d.link(t.Context())
		require.NoError(t, err)
		_, err = c.Registers(t.Context(), sixRegisters)
		require.NoError(t, err)
		begun := time.Now()
		require.NoError(t, c.Close())
		require.Equal(t, time.Second, time.Since(begun))
		close(d.free)
	})
}

// Stopping ends each of these waits within a second.
func TestStoppingLeavesAPort(t *testing.T) {
	for _, stuckIn := range []call{opening, writing, reading} {
		synctest.Test(t, func(t *testing.T) {
			d := newDriver(stuckIn)
			ctx, cancel := context.WithCancel(t.Context())
			time.AfterFunc(short/2, cancel)
			begun := time.Now()
			c, err := d.link(ctx)
			if err == nil {
				_, err = c.Registers(ctx, sixRegisters)
				defer c.Close()
			}
			require.ErrorIs(t, err, context.Canceled)
			require.ErrorAs(t, err, new(stopped))
			require.LessOrEqual(t, time.Since(begun), short/2+lastOrders)
			close(d.free)
			synctest.Wait()
		})
	}
}

// Close ends a request that waits for an answer, and closes the port.
func TestCloseEndsAReadOfAPort(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		d := newDriver()
		c, err := openRTU(t.Context(), "rtu COM5", serialPort, Options{Timeout: time.Hour}, pace{}, silentPort(d).dial)
		require.NoError(t, err)
		failed := make(chan error)
		go func() {
			_, err := c.Registers(t.Context(), sixRegisters)
			failed <- err
		}()
		time.Sleep(time.Second)
		begun := time.Now()
		require.NoError(t, c.Close())
		require.LessOrEqual(t, time.Since(begun), slice)
		require.ErrorIs(t, <-failed, ErrClosed)
		require.Equal(t, 1, d.closed)
	})
}

func silentPort(d *driver) *ports {
	p := d.ports()
	p.open = func() (serial.Port, error) { return &mute{d}, nil }
	return p
}

// mute never answers.
type mute struct{ *driver }

func (m *mute) Write(b []byte) (int, error) { return len(b), nil }

// A port that hangs again and again is not opened for ever: what is left behind
// is bounded. Once it comes back it is used again, and everything else is closed.
func TestWhatIsLeftBehindIsBounded(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		d := newDriver(reading)
		c, err := d.link(t.Context())
		require.NoError(t, err)
		before := runtime.NumGoroutine()
		for range 10 {
			_, err = c.Registers(t.Context(), sixRegisters)
			require.ErrorContains(t, err, "this computer does not come back from reading from the port")
		}
		require.Equal(t, mostLeft, d.opened)
		require.LessOrEqual(t, runtime.NumGoroutine(), before+mostLeft)

		d.mend()
		close(d.free)
		synctest.Wait()
		words, err := c.Registers(t.Context(), sixRegisters)
		require.NoError(t, err)
		require.Equal(t, addresses, words)
		require.NoError(t, c.Close())
		require.Equal(t, d.opened, d.closed)
	})
}

// The adapter is plugged in anew while a call on it is out: a new one serves.
func TestANewPortServesBesideAStuckOne(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		d := newDriver(reading)
		c, err := d.link(t.Context())
		require.NoError(t, err)
		_, err = c.Registers(t.Context(), sixRegisters)
		require.ErrorAs(t, err, new(StuckPort))
		d.mend() // the call is still out
		_, err = c.Registers(t.Context(), sixRegisters)
		require.NoError(t, err)
		require.NoError(t, c.Close())
		close(d.free)
		time.Sleep(time.Second) // what was left comes back
	})
}

// What a call that is out holds is not laid at another program's door.
func TestAStuckPortIsNotAnothersFault(t *testing.T) {
	var l leftCalls
	require.False(t, l.explains(errors.New("the port is on fire")))
	require.NoError(t, l.full())
	for range mostLeft {
		l.add(StuckPort{writing})
	}
	require.Equal(t, StuckPort{writing}, l.full())
	l.remove()
	require.NoError(t, l.full())
	require.True(t, StuckPort{}.Timeout())
}
