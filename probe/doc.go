// Package probe makes readings: a register map and a link make them of a
// meter, and a capture gives back those that were kept.
//
// It stands between the wire (package link), the registers (package regmap)
// and whoever judges readings. It reads and never writes to a meter, and it
// draws no conclusions.
package probe
