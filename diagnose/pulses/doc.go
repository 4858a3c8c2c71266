// Package pulses compares the pulse light of a meter, counted by a person over a
// time, with a power: that of its registers or of another instrument. The error's
// interval adds up three doubts by their shapes: a count that begins and ends
// between pulses (triangular, one pulse at most), the hand at the watch (Gaussian),
// and the power, which changed while it was sampled.
//
// A count, a time, a pulse constant and powers go in, a Result comes out; keys and
// clocks are for the caller. The light and the power are assumed to be of the same
// circuit and, unless the samples were taken during the count, the load to be
// alike then.
package pulses
