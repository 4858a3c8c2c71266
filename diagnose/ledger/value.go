package ledger

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"legwork/probe/reading"
)

// The parsers of this file say what is wrong and, after a semicolon, what would
// be right.

// stamp is a time and whether it was written with its zone.
type stamp struct {
	at    time.Time
	zoned bool
}

// forms of a time without a zone, as people write them into tables.
var forms = [...]string{"2006-01-02T15:04:05", "2006-01-02 15:04:05", "2006-01-02T15:04", "2006-01-02 15:04", "2006-01-02"}

func parseTime(text string) (stamp, error) {
	text = strings.TrimSpace(text)
	for _, form := range []string{time.RFC3339Nano, "2006-01-02 15:04:05Z07:00"} {
		if at, err := time.Parse(form, text); err == nil {
			return stamp{at, true}, nil
		}
	}
	for _, form := range forms {
		if at, err := time.Parse(form, text); err == nil {
			return stamp{at, false}, nil
		}
	}
	return stamp{}, fmt.Errorf("%q is not a time; write it as 2026-05-04T09:30:00Z or 2026-05-04 09:30", text)
}

// mostMultiplier is the largest product of transformer ratios. Our choice, no source.
const mostMultiplier = 1e7

func parseMultiplier(text string) (float64, error) {
	x, err := reading.ParseQuantity(text, "")
	if err != nil || !(x > 0) || x > mostMultiplier {
		return 0, fmt.Errorf("%q is not a multiplier; it is above 0, such as 40 for CTs of 200/5", text)
	}
	return x, nil
}

func parseDigits(text string) (int, error) {
	n, err := strconv.Atoi(strings.TrimSpace(text))
	if err != nil || n < 1 || n > 12 {
		return 0, fmt.Errorf("%q is not a number of digits; count those before the point, 1 to 12", text)
	}
	return n, nil
}

func parseReplaced(text string) (bool, error) {
	switch strings.ToLower(text) { // spreadsheets write TRUE
	case "true", "yes":
		return true, nil
	case "false", "no":
		return false, nil
	}
	return false, fmt.Errorf("%q is not true or false; write true at the first read of a new meter", text)
}

// mostFigure is beyond any register. Our choice, no source.
const mostFigure = 1e13

// parseFigure reads a register as it was written down: "12 345.6", "12345,6 kWh",
// "1.2 MWh". Without a unit it is in the register's own.
func parseFigure(text, unit string, digits int) (Figure, error) {
	x, err := figureIn(text, unit)
	if err != nil {
		return Figure{}, fmt.Errorf("%w; write it as 12345.6 or 12345.6 %s", err, unit)
	}
	switch {
	case x < 0:
		return Figure{}, fmt.Errorf("%q is below zero; a register counts from 0 up, so write what it shows", text)
	case x > mostFigure:
		return Figure{}, fmt.Errorf("%q is beyond any register; check its digits", text)
	case digits > 0 && x >= math.Pow10(digits):
		return Figure{}, fmt.Errorf("%q has more than the %d digits of this dial; check it, or `digits`", text, digits)
	}
	return Figure{Value: x, Step: stepOf(text)}, nil
}

// figureIn reads a figure in the register's unit, whichever prefix it has.
func figureIn(text, unit string) (float64, error) {
	base := strings.TrimPrefix(unit, "k") // Wh, VAh
	if strings.HasSuffix(strings.TrimSpace(text), base) {
		x, err := reading.ParseQuantity(text, base)
		return x / 1000, err
	}
	return reading.ParseQuantity(text, unit)
}

// stepOf is one step of the last digit written, taken for kWh or kVAh: units
// with another prefix are rare, and the check it serves is told in whole steps.
func stepOf(text string) float64 {
	number := strings.TrimRight(strings.TrimSpace(text), "kMWVAh ")
	at := strings.LastIndexAny(number, ".,")
	if at < 0 || strings.Count(number, number[at:at+1]) > 1 {
		return 1
	}
	return math.Pow10(-(len(number) - at - 1))
}

// keeper takes entries in order.
type keeper struct {
	ledger  *Ledger
	fault   func(line, column int, what, mend string)
	zoned   bool
	entries int
}

// mostEntries is more than anyone writes down.
const mostEntries = 100_000

func (k *keeper) add(e Entry, at stamp, line, column int) {
	k.entries++
	if at.at.IsZero() {
		return // reported
	}
	e.At = at.at
	all := k.ledger.Entries
	if len(all) > 0 {
		last := all[len(all)-1]
		switch {
		case at.zoned != k.zoned:
			k.fault(line, column, "some times have a zone and others don't", "write all with one, or all without")
		case e.At.Before(last.At):
			k.fault(line, column, fmt.Sprintf("its time is before that of line %d", last.Line), "put the reads in order of time, or mend the date")
		case e.At.Equal(last.At) && !e.Replaced:
			k.fault(line, column, fmt.Sprintf("its time is that of line %d", last.Line), "one read a time; `replaced: true` marks the first of a new meter")
		}
		if !e.Replaced && (e.Multiplier != last.Multiplier || e.Digits != last.Digits) {
			k.fault(line, column, "the multiplier or the digits change between reads of one meter", "write `replaced: true` where a meter or its CTs were changed, after a last read of the old ones")
		}
	} else if e.Replaced {
		k.fault(line, column, "the first read can't be of a meter that replaced another", "leave `replaced` out, or write the last read of the old meter above")
	}
	if len(e.Figures) == 0 {
		k.fault(line, column, "there is no figure in this read", "write a register, such as kWh")
	}
	k.zoned, k.ledger.Zoned = at.zoned, at.zoned
	if len(all) < mostEntries {
		k.ledger.Entries = append(all, e)
	}
}

// end reports a file with too little.
func (k *keeper) end() {
	switch k.entries {
	case 0:
		k.fault(1, 1, "there are no reads", "list them, two at least: under `reads:`, or a row each below the header")
	case 1:
		k.fault(k.ledger.line(), 1, "there is one read only", "a difference needs two")
	}
}

func (l *Ledger) line() int {
	if len(l.Entries) == 0 {
		return 1
	}
	return l.Entries[0].Line
}
