// Package regmap reads a register map, a file in which a person writes which
// registers of a meter hold what, and turns registers into readings and back.
//
// It stands between the link (bytes, registers) and package reading: Plan says
// which registers to ask for with the fewest requests, Decode makes SI units
// and the project's signs of the answers, in this one place, and Encode is its
// inverse, which the simulator uses. Every fault of a file is reported at once,
// with line and column.
//
// It can't know whether a map is true: a wrong scale reads as a wrong meter.
package regmap
