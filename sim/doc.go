// Package sim is a service, what hangs on it, a meter and whoever wired it.
//
// Loads draw currents from a supply (phasor arithmetic, with the harmonics
// beside the fundamental); leads and current transformers sit on conductors,
// rightly or by mistake; a meter of a given class reads what arrives at its
// terminals. A mistake is made on the conductors and never on the results, so
// whatever follows from it follows from the physics. Truth tells what was
// really there.
//
// The package knows nothing of how wiring is judged, and has its own words for
// what sits where: else the tests would judge the model by itself.
//
// Voltages are sinusoidal and stiff: no source impedance, no harmonics. CTs
// don't saturate.
package sim
