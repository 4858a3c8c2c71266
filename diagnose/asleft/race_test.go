//go:build race

package asleft_test

// racing says that the race detector is on: tables of shares take too long with it,
// and have nothing to race.
const racing = true
