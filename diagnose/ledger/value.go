package ledger

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"legwork/probe/reading"
	"legwork/probe/sheet"
)

// The parsers of this file give a sheet.Problem.

// stamp is a time and whether it was written with its zone.
type stamp struct {
	at    time.Time
	zoned bool
}

// forms of a time without a zone, as people write them into tables.
var forms = [...]string{
	"2006-01-02T15:04:05", "2006-01-02 15:04:05", "2006-01-02T15:04", "2006-01-02 15:04", "2006-01-02",
}

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
	return stamp{}, notA("time", text, "write it as 2026-05-04T09:30:00Z or 2026-05-04 09:30")
}

// mostMultiplier is the largest product of transformer ratios. Our choice, no source.
const mostMultiplier = 1e7

func parseMultiplier(text string) (float64, error) {
	x, err := reading.ParseQuantity(text, "")
	if err != nil || !(x > 0) || x > mostMultiplier {
		return 0, notA("multiplier", text, "it is above 0, such as 40 for CTs of 200/5")
	}
	return x, nil
}

func parseDigits(text string) (int, error) {
	n, err := strconv.Atoi(strings.TrimSpace(text))
	if err != nil || n < 1 || n > 12 {
		return 0, notA("number of digits", text, "count those before the point, 1 to 12")
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
	return false, sheet.Problem{What: fmt.Sprintf("%q is not true or false", text),
		Mend: "write true at the first read of a new meter"}
}

func notA(what, text, mend string) error {
	return sheet.Problem{What: fmt.Sprintf("%q is not a %s", text, what), Mend: mend}
}

// mostFigure is beyond any register. Our choice, no source.
const mostFigure = 1e13

// parseFigure reads a register as it was written down: "12 345.6", "12345,6 kWh".
// Without a unit it is in the register's own, and another one is asked about: a
// figure in MWh on a register of kWh is as likely a slip as a figure converted.
func parseFigure(text, unit string, digits int) (Figure, error) {
	if given := unitOf(text); given != "" && given != unit {
		mend := "write what the register shows, in " + unit + ", or where it shows " + given + " say so by `unit: " +
			strings.Replace(given, "VAh", "Wh", 1) + "`"
		if strings.HasSuffix(given, "VAh") != strings.HasSuffix(unit, "VAh") {
			mend = given + " goes into a register of its own"
		}
		what := fmt.Sprintf("%q is in %s, and this register is in %s", text, given, unit)
		return Figure{}, sheet.Problem{What: what, Mend: mend}
	}
	x, err := reading.ParseQuantity(strings.TrimSuffix(strings.TrimSpace(text), unit), "")
	if err != nil {
		_, err = reading.ParseQuantity(text, unit) // names the unit
		if err == nil {
			err = fmt.Errorf("%q is not a figure", text)
		}
		return Figure{}, sheet.Problem{What: err.Error(), Mend: "write it as 12345.6 or 12345.6 " + unit}
	}
	what, mend := "", ""
	switch {
	case x < 0:
		what, mend = "is below zero", "a register counts from 0 up, so write what it shows"
	case x > mostFigure:
		what, mend = "is beyond any register", "check its digits"
	case digits > 0 && x >= math.Pow10(digits):
		what, mend = fmt.Sprintf("has more than the %d digits of this dial", digits), "check it, or `digits`"
	default:
		return Figure{Value: x, Step: stepOf(text), Unit: unit}, nil
	}
	return Figure{}, sheet.Problem{What: fmt.Sprintf("%q %s", text, what), Mend: mend}
}

// unitOf is the unit behind a figure: Wh or VAh, with its prefix; empty for another
// or none.
func unitOf(text string) string {
	text = strings.TrimSpace(text)
	text = text[strings.LastIndexAny(text, "0123456789.,")+1:]
	for _, p := range prefixes {
		for _, base := range bases {
			if strings.TrimSpace(text) == p.name+base {
				return p.name + base
			}
		}
	}
	return ""
}

// prefixes are those of the units that registers show, with what makes k of them.
var prefixes = [...]struct {
	name string
	kilo float64
}{{"", 1e-3}, {"k", 1}, {"M", 1e3}, {"G", 1e6}}

var bases = [...]string{"Wh", "VAh"}

// kiloOf is what a unit is in kWh or kVAh.
func kiloOf(unit string) float64 {
	for _, p := range prefixes {
		for _, base := range bases {
			if unit == p.name+base {
				return p.kilo
			}
		}
	}
	return 1
}

// parseUnit reads the unit that the registers show: its prefix.
func parseUnit(text string) (prefix string, err error) {
	for _, p := range prefixes {
		if strings.TrimSpace(text) == p.name+"Wh" {
			return p.name, nil
		}
	}
	return "", notA("unit of a register", text, "say kWh, MWh, Wh or GWh, as the register shows")
}

// stepOf is one step of the last digit written, in the register's unit.
func stepOf(text string) float64 {
	number := strings.TrimRight(strings.TrimSpace(text), "kMGWVAh ")
	at := strings.LastIndexAny(number, ".,")
	if at < 0 || strings.Count(number, number[at:at+1]) > 1 {
		return 1
	}
	return math.Pow10(-(len(number) - at - 1))
}
