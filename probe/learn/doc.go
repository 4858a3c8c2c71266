// Package learn finds out what the registers of a meter hold that nobody has
// written down, from what they held when they were read several times over.
//
// Every register is read in every way it could be meant. Readings that could be
// voltages, currents and powers of the same channels are joined into
// explanations, and each explanation is weighed by its ties: what must agree if
// it is true, against the chance that it would agree anyhow. What ties leave
// open, the power of ten of the currents above all, an instrument settles.
// Wiring faults turn signs and angles, so neither counts against a register.
package learn
