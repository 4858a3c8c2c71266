package serve

import (
	"time"

	"legwork/sim"
)

// OfLayout is the unit of a meter whose registers nobody has written down: it
// refuses registers that the layout doesn't have with exception 2, and requests
// that are too long with exception 3. The layout lives by now.
func OfLayout(l *sim.Layout, now func() time.Time) *Unit {
	u := &Unit{Bank: NewBank(), Strict: true, MostRegisters: l.MostRegisters}
	u.Before = func() { u.Bank.Update(func(w Writer) { l.Fill(now(), w) }) }
	return u
}
