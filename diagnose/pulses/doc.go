// Package pulses compares the pulse light of a meter, counted by a person over
// a time, with a power: that of its registers or of another instrument.
//
// It stands beside package diagnose. A count, a time, a pulse constant and
// powers go in, a Result comes out; keys and clocks are for the caller.
//
// Three things make the error doubtful, and each is worked out by its shape: a
// count that begins and ends between pulses (triangular, one pulse at most), the
// hand at the watch (normal), and the power, which changed while it was sampled.
//
// It assumes that the light and the power are of the same circuit and, unless
// the samples were taken during the count, that the load was alike then.
package pulses
