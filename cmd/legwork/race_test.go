//go:build race

package main

// racing says that the race detector is on, which makes all ten times as long.
const racing = true
