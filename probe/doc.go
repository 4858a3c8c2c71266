// Package probe makes readings: a register map and a link make them of a meter,
// and a capture gives back those that were kept.
//
// It stands between the wire (package link), the registers (package regmap)
// and whoever judges readings (bytes, registers, readings, evidence, verdict).
// It reads and never writes to a meter, and it draws no conclusions.
//
// A capture is JSON Lines or CSV, told apart by its first byte; both are read
// a line at a time. It is strict, since a value that is skipped in silence
// would look like one that the meter lacks: an unknown name, a value of a wrong
// kind or a time that goes back is an error with file and line. One thing it
// can't tell: a last row of CSV without the end of its line, cut within the
// digits of its last column.
//
// No file is opened here: readers and writers are handed in.
package probe
