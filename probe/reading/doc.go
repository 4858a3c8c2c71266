// Package reading is the vocabulary of what a meter says: quantities in SI
// units, angles, channels, and one reading of them all at one instant.
//
// It is the first room of the flow (bytes, registers, readings, evidence,
// verdict) and imports no other. Here, and only here, the signs are fixed:
//
//   - Phasors turn anticlockwise; the voltage of channel 1 lies at 0 degrees.
//   - The angle of a channel is arg V - arg I: positive when the current lags.
//   - Active power is positive from the source to the load, reactive power is
//     positive for a lagging (inductive) load.
//   - Energy is in watt hours, the one unit here that is not coherent SI.
//
// Whoever makes a Reading (a register map, a capture, a simulator) converts to
// these once; whoever uses one never converts again. What isn't known is
// absent, never zero and never NaN.
package reading
