package ledger

import (
	"fmt"
	"strings"

	"legwork/probe/sheet"
)

// keeper takes visits in order.
type keeper struct {
	ledger     *Ledger
	multiplier float64 // that holds from here on
	digits     int
	prefix     string // of the units that the registers show
	last       string // the prefix of the last entry
	entries    int
}

func newKeeper() *keeper { return &keeper{ledger: &Ledger{}, multiplier: 1, prefix: "k", last: "k"} }

// mostEntries is more than anyone writes down.
const mostEntries = 100_000

// from takes what holds from here on.
func (k *keeper) from(multiplier, digits, unit sheet.Text) {
	set(unit, parseUnit, &k.prefix)
	set(multiplier, parseMultiplier, &k.multiplier)
	set(digits, parseDigits, &k.digits)
}

// set parses a text that is given into a value, or reports the fault there.
func set[T any](t sheet.Text, parse func(string) (T, error), into *T) {
	if !t.OK {
		return
	}
	x, err := parse(t.Value)
	if err != nil {
		t.Refuse(err)
		return
	}
	*into = x
}

func (k *keeper) read(v *visit) {
	line, _ := v.Position()
	e := Entry{Line: line, Figures: map[Register]Figure{}}
	at := stamp{}
	if !v.At.Is() {
		v.Fault("the read has no time", "give `at`, such as 2026-05-04T09:30:00Z")
	}
	set(v.At, parseTime, &at)
	k.from(v.Multiplier, v.Digits, v.Unit)
	if v.Struck.OK {
		k.ledger.Struck = append(k.ledger.Struck, fmt.Sprintf("the read of line %d is struck: %s", line, v.Struck.Value))
		return
	}
	set(v.Replaced, parseReplaced, &e.Replaced)
	e.Multiplier, e.Digits = k.multiplier, k.digits
	for _, r := range Registers() {
		t, given := v.Figures[r.String()]
		if !given {
			continue
		}
		var x Figure
		set(t, func(text string) (Figure, error) {
			return parseFigure(text, k.prefix+strings.TrimPrefix(r.Unit, "k"), e.Digits)
		}, &x)
		e.Figures[r] = x
	}
	if k.entries++; !at.at.IsZero() { // else it was reported
		e.At = at.at
		k.add(e, at.zoned, v.Node)
	}
}

// add keeps an entry, and reports at a place what it contradicts.
func (k *keeper) add(e Entry, zoned bool, place sheet.Node) {
	l := k.ledger
	if len(l.Entries) > 0 {
		l.after(e, zoned, place)
		if !e.Replaced && k.prefix != k.last {
			place.Fault("the unit of the registers changes between reads of one meter", "write `replaced: true` where a meter "+
				"was changed; else each read in the same unit")
		}
	} else if e.Replaced {
		place.Fault("the first read can't be of a meter that replaced another",
			"leave `replaced` out, or write the last read of the old meter above")
	}
	if len(e.Figures) == 0 {
		place.Fault("there is no figure in this read", "write a register, such as kWh")
	}
	l.Zoned, k.last = zoned, k.prefix
	if len(l.Entries) < mostEntries {
		l.Entries = append(l.Entries, e)
	}
}

// after reports an entry that can't follow the last one.
func (l *Ledger) after(e Entry, zoned bool, place sheet.Node) {
	last := l.Entries[len(l.Entries)-1]
	switch {
	case zoned != l.Zoned:
		place.Fault("some times have a zone and others don't", "write all with one, or all without")
	case e.At.Before(last.At):
		place.Fault(fmt.Sprintf("its time is before that of line %d", last.Line),
			"put the reads in order of time, or mend the date")
	case e.At.Equal(last.At) && !e.Replaced:
		place.Fault(fmt.Sprintf("its time is that of line %d", last.Line),
			"one read a time; `replaced: true` marks the first of a new meter")
	}
	if !e.Replaced && (e.Multiplier != last.Multiplier || e.Digits != last.Digits) {
		place.Fault("the multiplier or the digits change between reads of one meter",
			"write `replaced: true` where a meter or its CTs were changed, after a last read of the old ones")
	}
}

// end reports a file with too little.
func (k *keeper) end(root sheet.Node) {
	switch k.entries {
	case 0:
		root.FaultAt(1, 1, "there are no reads", "list them, two at least: under `reads:`, or a row each below the header")
	case 1:
		line := 1
		if len(k.ledger.Entries) > 0 {
			line = k.ledger.Entries[0].Line
		}
		root.FaultAt(line, 1, "there is one read only", "a difference needs two")
	}
}
