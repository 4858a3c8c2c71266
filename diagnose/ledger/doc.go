// Package ledger reads what people wrote down from the registers of a meter and
// says what went through between, and whether the registers agree with each other
// and with a capture of the power. A file that can't be right is refused with line
// and column; what may be right but is ambiguous (a register that went back) is
// kept and said, and no number is made up for it.
//
// A file's bytes go in, differences and checks come out. Differences are of whole
// meters only: nothing is known of the time between the last read of a meter and
// the first of the one that replaced it.
package ledger
