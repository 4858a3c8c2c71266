// Package source turns the METER argument into readings: of a meter on a wire or
// a network, of a place of the simulator served on loopback, or of a capture. It
// is the only room of the command that opens a way to a meter.
package source
