package ledger

import (
	"fmt"
	"strings"
	"time"

	"legwork/probe/sheet"
)

// Version is the version of the file's format.
const Version = 1

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
	Value float64 // kWh or kVAh as the register shows it, before the multiplier
	Step  float64 // of its last digit
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
}

// defaults are what the head of a file says of all its reads.
type defaults struct {
	multiplier float64
	digits     int
}

// ParseYAML reads a ledger; the error is a *sheet.Faults with all that is wrong.
func ParseYAML(file string, src []byte) (*Ledger, error) {
	s, root := sheet.Open(file, src)
	if err := s.Err(); err != nil {
		return nil, err
	}
	f := root.Fields("legwork-ledger", "meter", "multiplier", "digits", "reads")
	if v := f["legwork-ledger"]; !v.Is() {
		root.Fault("this doesn't say that it is a ledger of reads", fmt.Sprintf("begin with `legwork-ledger: %d`", Version))
	} else {
		v.Int(Version, Version)
	}
	l := &Ledger{}
	l.Meter, _ = f["meter"].Text()
	of := defaults{multiplier: 1}
	readNode(f["multiplier"], parseMultiplier, &of.multiplier)
	readNode(f["digits"], parseDigits, &of.digits)
	k := &keeper{ledger: l, fault: root.FaultAt}
	for _, item := range f["reads"].List() {
		readItem(item, k, &of)
	}
	k.end()
	if err := s.Err(); err != nil {
		return nil, err
	}
	return l, nil
}

// readNode parses a node's text into a value, or reports the fault there.
func readNode[T any](n sheet.Node, parse func(string) (T, error), into *T) {
	text, ok := n.Text()
	if !ok {
		return
	}
	x, err := parse(text)
	if err != nil {
		what, mend, _ := strings.Cut(err.Error(), "; ")
		n.Fault(what, mend)
		return
	}
	*into = x
}

// readItem reads one visit. What it says of the multiplier and the digits holds
// from there on: a meter that was replaced may have others.
func readItem(item sheet.Node, k *keeper, of *defaults) {
	names := []string{"at", "multiplier", "digits", "replaced"}
	for _, r := range Registers() {
		names = append(names, r.String())
	}
	f := item.Fields(names...)
	line, column := item.Position()
	e := Entry{Line: line, Figures: map[Register]Figure{}}
	at := stamp{}
	if !f["at"].Is() {
		item.Fault("the read has no time", "write `at: 2026-05-04T09:30:00Z`")
	}
	readNode(f["at"], parseTime, &at)
	readNode(f["multiplier"], parseMultiplier, &of.multiplier)
	readNode(f["digits"], parseDigits, &of.digits)
	if f["replaced"].Is() {
		e.Replaced, _ = f["replaced"].Bool()
	}
	e.Multiplier, e.Digits = of.multiplier, of.digits
	for _, r := range Registers() {
		n := f[r.String()]
		if !n.Is() {
			continue
		}
		var x Figure
		readNode(n, func(text string) (Figure, error) { return parseFigure(text, r.Unit, e.Digits) }, &x)
		e.Figures[r] = x
	}
	k.add(e, at, line, column)
}
