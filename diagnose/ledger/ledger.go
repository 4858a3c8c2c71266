package ledger

import (
	"fmt"
	"time"
)

// Register is what a column of reads is of.
type Register struct {
	Unit    string // "kWh" or "kVAh"
	Channel int    // 1 to 3; 0 for the total
}

// String is the name by which files call the register: "kWh", "kVAh.2".
func (r Register) String() string {
	if r.Channel == 0 {
		return r.Unit
	}
	return fmt.Sprintf("%s.%d", r.Unit, r.Channel)
}

// Registers lists all there are, in the order of tables.
func Registers() []Register {
	var all []Register
	for _, unit := range []string{"kWh", "kVAh"} {
		for k := range 4 {
			all = append(all, Register{unit, k})
		}
	}
	return all
}

// Figure is one value as it was written down.
type Figure struct {
	Value float64 // as the register shows it, in Unit, before the multiplier
	Step  float64 // of its last digit, in Unit
	Unit  string  // kWh, kVAh, or with another prefix
}

// Entry is one visit to a meter.
type Entry struct {
	At         time.Time
	Line       int
	Figures    map[Register]Figure
	Multiplier float64
	Digits     int  // before the point, of every register; 0 where it isn't known
	Replaced   bool // the meter is new since the entry before: this is its first read
}

// Ledger is the reads of one metering point, in order of time.
type Ledger struct {
	Meter   string
	Zoned   bool // the times were written with their zone
	Entries []Entry
	Struck  []string // reads that don't count, and why
}
