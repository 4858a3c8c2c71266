//go:build linux

package link

import (
	"os"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"legwork/sim/serve"
)

// The serial library panics where a port's number among the open files is above
// 1023. Here that is an error, and one that says what it is.
func TestSerialPortAmongManyOpenFiles(t *testing.T) {
	name := lineTo(t, serve.New(nil), serve.Line{})
	for range 1100 {
		f, err := os.Open(os.DevNull)
		if err != nil {
			t.Skip("skipped: this system doesn't let so many files be opened")
		}
		defer f.Close()
	}
	c, err := OpenRTU(t.Context(), Serial{Port: name}, Options{Timeout: 50 * time.Millisecond})
	require.NoError(t, err)
	defer c.Close()
	_, err = c.Registers(t.Context(), sixRegisters)
	require.ErrorContains(t, err, "too many files are open")
}
