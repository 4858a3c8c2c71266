// Package sim is a service, what hangs on it, a meter and whoever wired it.
//
// Loads draw currents from a supply (Supply, Load, Flow: phasor arithmetic, with
// harmonics beside the fundamental); leads and current transformers sit on
// conductors, rightly or by mistake (Wiring, ParseMistakes); a meter of a given
// class reads what arrives at its terminals (Meter). A mistake is made on the
// conductors and never on the results, so whatever follows from it follows from
// the physics. Truth tells what was really there.
//
// Site makes random panels for tables of accuracy; Place is a scenario from a
// file, with loads that come and go by the clock that is handed in.
//
// The package knows nothing of how wiring is judged, and has its own words for
// what sits where: else the tests would judge the model by itself. It speaks to
// the rest through package reading and package regmap.
//
// Voltages are sinusoidal and stiff: no source impedance, no voltage harmonics.
// Harmonic current is carried by the third order alone, the fifth in
// three-phase loads. CTs don't saturate.
package sim
