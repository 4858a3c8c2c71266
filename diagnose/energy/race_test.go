//go:build race

package energy

// racing says that the race detector is on: tables of shares take too long with it,
// and have nothing to race.
const racing = true
