// Package mend says how a register map should be changed where what a live
// meter answers doesn't fit physics: word order, signedness, a scale by powers
// of ten, an address off by one, the other table.
//
// It stands beside package probe, between registers and readings. Registers
// that were read are decoded in every way that a mend would, and each way is
// weighed by how far voltages, currents, powers and angles contradict each
// other; a wiring fault, which turns angles and signs, costs nothing here. The
// mends with the least contradiction are proposed, each with what it read
// before and after. A mend that changes nothing that can be checked is never
// proposed; of two that do as well, both are told.
package mend
