//go:build !linux

package link

// servePaced needs sleeps to the microsecond, and a pseudo-terminal.
func servePaced(int) {}
