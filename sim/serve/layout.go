package serve

import (
	"time"

	"legwork/probe/regmap"
)

// Filler writes what a meter's registers hold at a time.
type Filler interface {
	Fill(t time.Time, bank regmap.Bank)
}

// Filled is a unit that a filler keeps up to date, such as a layout: it refuses
// registers that aren't there with exception 2, and requests of more than most
// registers with exception 3.
func Filled(f Filler, most int, now func() time.Time) *Unit {
	u := &Unit{Bank: NewBank(), Strict: true, MostRegisters: most}
	u.Before = func() { u.Bank.Update(func(w Writer) { f.Fill(now(), w) }) }
	return u
}
