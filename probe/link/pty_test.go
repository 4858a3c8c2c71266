//go:build linux || darwin

package link

import (
	"os"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"legwork/sim/serve"
)

// lineTo serves a pseudo-terminal and gives the name of the end to open.
func lineTo(t testing.TB, s *serve.Server, l serve.Line) string {
	name, err := s.ServePTY(l)
	require.NoError(t, err)
	t.Cleanup(func() { _ = s.Close() })
	return name
}

func TestSerialPort(t *testing.T) {
	var number atomic.Uint64
	s := serve.New(map[byte]*serve.Unit{1: markedUnit(&number), 7: {Bank: serve.NewBank(), Identity: []string{"Tidewater", "K3", "1.0"}}})
	name := lineTo(t, s, serve.Line{})
	c, err := OpenRTU(t.Context(), Serial{Port: name, Baud: 115200}, Options{Timeout: 300 * time.Millisecond})
	require.NoError(t, err)
	defer c.Close()
	o := hammer(t, c, &number, 200)
	require.Equal(t, outcome{right: 200, failures: map[string]int{}}, o)

	id, err := c.Identify(t.Context(), 7)
	require.NoError(t, err)
	require.Equal(t, "K3", id.Product)

	_, err = c.Registers(t.Context(), Read{Unit: 1, Function: ReadHolding, Address: 4000, Count: 2})
	require.ErrorIs(t, err, IllegalDataAddress)
	_, err = c.Registers(t.Context(), Read{Unit: 9, Function: ReadHolding, Count: 2})
	require.ErrorContains(t, err, "no answer within 300ms; check A and B")
}

func TestSerialPortsThatCantBeOpened(t *testing.T) {
	tests := []struct {
		name string
		port Serial
		want string
	}{
		{"missing", Serial{Port: "/dev/ttyUSB77"}, "there is no such port"},
		{"no serial port", Serial{Port: "/dev/null"}, "no serial port"},
		{"odd baud", Serial{Port: "/dev/ttyUSB0", Baud: 7}, "a serial line has 75 to"},
		{"three stop bits", Serial{Port: "/dev/ttyUSB0", StopBits: 3}, "there are 1 or 2"},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			_, err := OpenRTU(t.Context(), test.port, Options{})
			require.ErrorContains(t, err, test.want)
		})
	}
}

// The adapter is pulled, and comes back under the same name.
func TestAdapterPulledAndBack(t *testing.T) {
	var number atomic.Uint64
	link := t.TempDir() + "/adapter"
	plug := func() *serve.Server {
		s := serve.New(map[byte]*serve.Unit{1: markedUnit(&number)})
		name := lineTo(t, s, serve.Line{})
		_ = os.Remove(link)
		require.NoError(t, os.Symlink(name, link))
		return s
	}
	s := plug()
	c, err := OpenRTU(t.Context(), Serial{Port: link, Baud: 115200}, Options{Timeout: 300 * time.Millisecond})
	require.NoError(t, err)
	defer c.Close()
	require.Equal(t, 3, hammer(t, c, &number, 3).right)

	require.NoError(t, s.Close())
	require.NoError(t, os.Remove(link))
	_, err = c.Registers(t.Context(), sixRegisters)
	require.ErrorContains(t, err, "there is no such port; is the adapter plugged in?")

	plug()
	require.Eventually(t, func() bool { return hammer(t, c, &number, 1).right == 1 }, 5*time.Second, time.Millisecond)
	require.EqualValues(t, 1, c.Counts().Redials)
}

// After Close nothing is written, whatever file has the port's number by then.
func TestNothingIsWrittenAfterClose(t *testing.T) {
	s := serve.New(map[byte]*serve.Unit{})
	name := lineTo(t, s, serve.Line{})
	w, err := newPorts(Serial{Port: name}.withDefaults()).dial(t.Context())
	require.NoError(t, err)
	require.NoError(t, w.Close())
	other, err := os.Create(t.TempDir() + "/other")
	require.NoError(t, err)
	defer other.Close()
	_, _, err = w.ask(t.Context(), question{adu: []byte("01 03 00 00"), into: make([]byte, 8), deadline: time.Now().Add(time.Second)})
	require.ErrorIs(t, err, errPortClosed)
	info, err := other.Stat()
	require.NoError(t, err)
	require.Zero(t, info.Size())
	require.NoError(t, w.Close())
}
