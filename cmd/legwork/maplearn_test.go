package main

import (
	"bytes"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"legwork/cmd/legwork/internal/source"
	"legwork/sim"
)

// serveLayout serves a meter of a layout over TCP and gives its METER.
func serveLayout(t *testing.T, seed uint64) (*source.Served, string) {
	served, err := source.ServeLayout("kiln-house", sim.Options{}, seed)
	require.NoError(t, err)
	t.Cleanup(func() { _ = served.Server.Close() })
	at, err := served.Server.ListenTCP("127.0.0.1:0")
	require.NoError(t, err)
	return served, "tcp://" + at.String() + "/1"
}

// A meter that goes away while it is being learned is said to have gone, and
// nothing is written.
func TestAMeterThatGoesWhileItIsLearned(t *testing.T) {
	served, meter := serveLayout(t, 2)
	go func() {
		for served.Server.Counts().Functions[4] < 100 && t.Context().Err() == nil {
			runtime.Gosched()
		}
		_ = served.Server.Close()
	}()
	name := filepath.Join(t.TempDir(), "kiln.map.yaml")
	var out, told bytes.Buffer
	code := run([]string{"map", "learn", meter, "--write", name, "--timeout", "200ms"}, strings.NewReader(""), &out, &told)
	require.Equal(t, exitUnread, code, told.String())
	require.Regexp(t, `unit 1: the meter answered, and then no more, after \d+ questions: .*connection refused`, told.String())
	require.NoFileExists(t, name)
}

// A meter that is silent where others refuse is learned in time: once its speed is
// known, less patience is enough.
func TestASilentMeterIsLearned(t *testing.T) {
	t.Parallel() // most of it is waiting
	served, meter := serveLayout(t, 1)
	served.Meter.Hush()
	var out, told bytes.Buffer
	begun := time.Now()
	code := run([]string{"map", "learn", meter, "--range", "30000-30300", "--measured", "channel 1: 121 V", "--measured",
		"channel 1: 87 A", "--measured", "channel 2: 97.6 A"}, strings.NewReader(""), &out, &told)
	require.NotEqual(t, exitUnread, code, told.String()+out.String())
	require.Less(t, time.Since(begun), time.Minute)
	require.Contains(t, told.String(), "voltage         holding 30000-30002, u16 x 0.01")
}
