package ledger

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"legwork/probe/sheet"
)

// Noted is a value that a person read off a register and noted elsewhere than in
// a ledger's file.
type Noted struct {
	At    time.Time
	Name  string // "import", "kWh.2"; empty is the total of what flows in
	Value string // as it was written, with its unit
	Line  int    // where it stands there
}

// FromNoted makes a ledger of noted reads, those of one time as one visit; the
// multiplier is 1. It names what isn't a register of energy that flows in, and
// reads that stand out of the order of time: those are left out.
func FromNoted(meter string, all []Noted) (l *Ledger, left []string) {
	l = &Ledger{Meter: meter, Zoned: true}
	shows := map[Register]Noted{}
	for _, n := range all {
		register, ok := registerNamed(n.Name, n.Value)
		if !ok {
			left = append(left, fmt.Sprintf("%q is no register of energy that flows in; it is left out",
				strings.TrimSpace(n.Name+" "+n.Value)))
			continue
		}
		x, err := parseFigure(n.Value, unitOf(n.Value), 0)
		if err == nil {
			err = own(n, register, x, shows)
		}
		if err == nil {
			err = l.put(n, register, x)
		}
		if err != nil {
			left = append(left, fmt.Sprintf("%v; it is left out", err))
		}
	}
	return l, left
}

// own refuses a figure in another unit than the register's own, which is that of the
// first read that counts.
func own(n Noted, r Register, x Figure, shows map[Register]Noted) error {
	first, ok := shows[r]
	if unit := unitOf(first.Value); ok && unit != x.Unit {
		return fmt.Errorf("%q of %d is in %s, and %d has the register in %s: is it another register, or a slip? strike it, "+
			"and note what the register shows, in %s", n.Value, n.Line, x.Unit, first.Line, unit, unit)
	}
	if !ok {
		shows[r] = n
	}
	return nil
}

// put adds a figure to the visit of its time.
func (l *Ledger) put(n Noted, r Register, x Figure) error {
	if i := len(l.Entries) - 1; i < 0 || n.At.After(l.Entries[i].At) {
		l.Entries = append(l.Entries, Entry{At: n.At, Line: n.Line, Figures: map[Register]Figure{}, Multiplier: 1})
	}
	e := &l.Entries[len(l.Entries)-1]
	if !n.At.Equal(e.At) {
		return fmt.Errorf("the read %q of %d has an earlier time than that of %d", n.Value, n.Line, e.Line)
	}
	if _, twice := e.Figures[r]; twice {
		return fmt.Errorf("%s is read twice at one time, %q the second time", r, n.Value)
	}
	e.Figures[r] = x
	return nil
}

// CheckNoted refuses a read of energy that is probably a slip: a figure below zero, or a
// name that is nearly a register's. Other names are of registers that a ledger leaves out.
func CheckNoted(name, value string) error {
	if strings.HasPrefix(strings.TrimSpace(value), "-") {
		return errors.New("a register counts from 0 up; write what it shows")
	}
	name = plainName(name)
	if strings.HasPrefix(name, "channel") {
		return errors.New("say which register of the channel it is: import 1, import 2, import 3, or export 1 to 3")
	}
	if near := sheet.Near(name, energyNames()); near != "" && !IsRegister(name) {
		return fmt.Errorf("%q is no register; did you mean %s?", name, near)
	}
	return nil
}

// IsRegister reports the name of a register of energy, that flows in or out; so is an
// empty name.
func IsRegister(name string) bool {
	return name == "" || slices.Contains(energyNames(), plainName(name))
}

// energyNames are the names of registers of energy, in and out.
func energyNames() (all []string) {
	for _, r := range Registers() {
		in := r.names()
		all = append(all, in...)
		for _, name := range in {
			all = append(all, strings.ReplaceAll(name, "import", "export"))
		}
	}
	return all
}

// plainName is a name in lower case, with single spaces.
func plainName(name string) string { return strings.ToLower(strings.Join(strings.Fields(name), " ")) }

// names are those that people give to a register of energy that flows in.
func (r Register) names() []string {
	if r.Channel == 0 {
		return []string{strings.ToLower(r.Unit), "import", "total", "total import"}
	}
	return []string{strings.ToLower(r.String()), fmt.Sprintf("import.%d", r.Channel), fmt.Sprintf("import %d", r.Channel)}
}

// registerNamed finds the register that a name and a unit mean.
func registerNamed(name, value string) (Register, bool) {
	unit := ""
	for _, u := range []string{"kVAh", "kWh"} {
		if strings.HasSuffix(strings.TrimSpace(value), strings.TrimPrefix(u, "k")) {
			unit = u
			break
		}
	}
	name = plainName(name)
	for _, r := range Registers() {
		if r.Unit == unit && (name == "" && r.Channel == 0 || slices.Contains(r.names(), name)) {
			return r, true
		}
	}
	return Register{}, false
}
