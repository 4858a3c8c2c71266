//go:build race

package watch

// racing says that the race detector is on, which makes all ten times as long.
const racing = true
