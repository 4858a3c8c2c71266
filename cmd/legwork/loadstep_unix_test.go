//go:build unix

package main

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
)

// In a terminal the person is asked whose load it was, and what is seen counts after y.
func TestALoadStepAsksWhoseLoadItWas(t *testing.T) {
	served, host := kilnHouse(t, "127.0.0.1:0", "")
	const load = "lamps of the studio"
	for _, c := range served.Place.Circuits() { // nothing but that load comes or goes
		require.NoError(t, served.Place.Break(c, c != "kiln room fan" && c != "lamps of the shop" &&
			c != "lamps of the kiln room"))
	}
	file, src := served.Place.Map()
	file = filepath.Join(t.TempDir(), filepath.Base(file))
	require.NoError(t, os.WriteFile(file, src, 0o600))
	x := inTerminal(t, 140, 24, nil, "loadstep", "tcp://"+host, "--map", file, "--service", "120/208Y", "--leg", "1",
		"--interval", "100ms")
	x.shows("Switch a load of a few amperes on leg 1 on now")
	require.NoError(t, served.Place.Break(load, false))
	x.shows("Channel 1 rose by ")
	x.shows("Was that yours?")
	x.types("xn")
	x.shows("It wasn't yours")
	require.NotContains(t, x.text(), `\u000d`)
	require.NoError(t, served.Place.Break(load, true))
	x.shows("A load went off")
	require.NoError(t, served.Place.Break(load, false))
	x.shows("A load like it was switched before")
	x.types("y")
	x.shows("Channel 1 took it")
	require.Equal(t, exitAgrees, x.exits())
}
