// Package probe makes readings of a meter: a register map says which registers
// to ask a link for, and what they say. It never writes to a meter, and it draws
// no conclusions.
//
// It stands between the wire (package link), the registers (package regmap) and
// whoever judges readings. What was read before is replayed by package capture.
package probe
