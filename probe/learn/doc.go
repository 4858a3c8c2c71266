// Package learn finds out what the registers of a meter hold that nobody has
// written down, from what they held when they were read several times over.
//
// Every register is read in every way it could be meant. Readings that could be
// voltages, currents and powers of the same channels are joined into
// explanations, and each explanation is weighed by its ties: what must agree if
// it is true, against the chance that it would agree anyhow. What ties leave
// open, the power of ten of the currents above all, an instrument settles.
// Wiring faults turn signs and angles, so neither counts against a register.
//
// What it can't know without an instrument: every tie between currents and powers
// holds as well for ten times as much of both, and a counter of energy only ties
// them to a unit of its own that is as little known. In floats all is in SI but
// for watts or kilowatts, which the volts tell. In integers only what meters are
// usually made for speaks for one power of ten, and that seldom settles it. A
// channel in which nothing flows, or which has no voltage, ties nothing either.
package learn
