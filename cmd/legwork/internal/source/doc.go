// Package source turns the METER argument into readings: a meter on the
// network, a place of the simulator served on loopback, or a capture.
package source
