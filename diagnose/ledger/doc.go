// Package ledger reads what people wrote down from the registers of a meter,
// and says what went through between: for a bill, and as a check of the meter
// against itself and against a capture of its power.
//
// It stands beside package diagnose, after probe/reading and probe/sheet: a
// file's bytes go in, differences and findings come out. A file that can't be
// right (times out of order, a read beyond its dial) is refused with line and
// column; what may be right but can't be told (a register that went back) is
// kept and told, and no number is made up for it.
//
// Differences are of whole meters only: nothing is known of the time between
// the last read of a meter and the first of the one that replaced it.
package ledger
