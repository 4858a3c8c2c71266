package ledger

import (
	"fmt"
	"math"
	"strings"
	"time"

	"legwork/probe/reading"
)

// differences lists what every register moved between neighbouring reads, and
// the gaps where a meter was replaced. A register that a read lacks is carried
// on to the next read that has it.
func (l *Ledger) differences() (all []Difference, gaps []Gap) {
	last := map[Register]*Entry{}
	for i := range l.Entries {
		e := &l.Entries[i]
		if e.Replaced {
			gaps = append(gaps, gapOf(&l.Entries[i-1], e))
			clear(last)
		}
		for _, r := range Registers() {
			if _, ok := e.Figures[r]; !ok {
				continue
			}
			if before := last[r]; before != nil {
				all = append(all, differ(r, before, e))
			}
			last[r] = e
		}
	}
	return all, gaps
}

func gapOf(before, after *Entry) Gap {
	g := Gap{From: before.At, To: after.At, Note: "the meter was replaced; its last read and the new one's first are " +
		"of one moment, so nothing is missing"}
	if after.At.After(before.At) {
		g.Note = fmt.Sprintf("the meter was replaced; what flowed in the %s between its last read and the new one's first "+
			"is in no register", after.At.Sub(before.At))
	}
	return g
}

// differ is one register's difference. Both reads are cut off at their last
// digit, so it is right within one step.
func differ(r Register, before, after *Entry) Difference {
	a, b := before.Figures[r], after.Figures[r]
	kilo := after.Multiplier * kiloOf(b.Unit)
	d := Difference{From: before.At, To: after.At, Register: r.String(), Unit: b.Unit, Before: a.Value, After: b.Value,
		Multiplier: after.Multiplier, Kind: Plain, Within: math.Max(a.Step, b.Step) * kilo}
	moved := b.Value - a.Value // of the register; times kilo it is kWh or kVAh
	if moved < 0 {
		moved = d.back(moved, after.Digits)
	}
	if d.Kind != Backwards {
		d.Energy = reading.Known(tidy(moved * kilo))
		d.beyond()
	}
	return d
}

// mostPower, kW or kVA, is beyond what a low-voltage service carries: 4,000 A at 600 V
// is 4,200 kVA. Our choice, no source.
const mostPower = 10e3

// beyond takes a difference away that would want more power than there is: no number
// is made of a slip.
func (d *Difference) beyond() {
	hours := d.To.Sub(d.From).Hours()
	energy := d.Energy.Or(0)
	if hours <= 0 || energy-d.Within <= mostPower*hours {
		return
	}
	d.Kind, d.Energy = Beyond, reading.Value{}
	d.Note = joined(d.Note, fmt.Sprintf("%s in %s would be a mean of %s, beyond any low-voltage service: a figure, its "+
		"unit, the multiplier or a time is wrong", amount(energy, d.Register, "h"), lasting(d.To.Sub(d.From)),
		amount(energy/hours, d.Register, "")))
}

// amount writes kWh or kVAh, without the hours where it is a power, with the prefix
// that suits.
func amount(kilo float64, register, hours string) string {
	base := "W"
	if strings.HasPrefix(register, "kVA") {
		base = "VA"
	}
	for _, p := range []struct {
		name string
		kilo float64
	}{{"T", 1e9}, {"G", 1e6}, {"M", 1e3}} {
		if kilo >= p.kilo {
			return fmt.Sprintf("%.3g %s%s%s", kilo/p.kilo, p.name, base, hours)
		}
	}
	return fmt.Sprintf("%.3g k%s%s", kilo, base, hours)
}

// lasting writes a time in about three figures.
func lasting(d time.Duration) string {
	switch {
	case d >= time.Hour:
		return fmt.Sprintf("%.3g h", d.Hours())
	case d >= time.Second:
		return fmt.Sprintf("%.3g s", d.Seconds())
	}
	return fmt.Sprintf("%.3g ms", float64(d)/float64(time.Millisecond))
}

// tidy takes away what binary fractions leave behind the last written digit.
func tidy(x float64) float64 { return math.Round(x*1e6) / 1e6 }

// rollShare of the dial: a register that stood in the last part of it and
// stands in the first is taken to have rolled over. Our choice, no source.
const rollShare = 0.25

// back says what a register that stands lower than before may have done, and
// gives what it moved if it rolled over.
func (d *Difference) back(moved float64, digits int) float64 {
	d.Kind = Backwards
	if digits == 0 {
		d.Note = fmt.Sprintf("it stands %s lower: rolled over (say `digits`), ran backwards, was replaced (say `replaced: "+
			"true`), or misread", plainFigure(-moved))
		return moved
	}
	dial := dialOf(digits)
	if d.Before >= (1-rollShare)*dial && d.After < rollShare*dial {
		d.Kind, d.Note = RolledOver, fmt.Sprintf("rolled over at %.0f", dial)
		return moved + dial
	}
	d.Note = fmt.Sprintf("it stands %s lower: ran backwards by that, rolled over by %s, was replaced, or misread; "+
		"which can't be told", plainFigure(-moved), plainFigure(moved+dial))
	return moved
}

func plainFigure(x float64) string { return fmt.Sprintf("%.10g", tidy(x)) }

// totals adds up each register's differences.
func totals(all []Difference) []Total {
	sums := []Total{}
	for _, r := range Registers() {
		sum, any, known := 0.0, false, true
		for _, d := range all {
			if d.Register != r.String() {
				continue
			}
			x, ok := d.Energy.Get()
			sum, any, known = sum+x, true, known && ok
		}
		if !any {
			continue
		}
		t := Total{Register: r.String()}
		if known {
			t.Energy = reading.Known(tidy(sum))
		}
		sums = append(sums, t)
	}
	return sums
}

// dialOf is where a dial of so many digits rolls over.
func dialOf(digits int) float64 { return math.Pow10(digits) }
