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

// parseFigure reads a register as it was written down: "12 345.6", "12345,6 kWh",
// "1.2 MWh". Without a unit it is in the register's own.
func parseFigure(text, unit string, digits int) (Figure, error) {
	x, err := figureIn(text, unit)
	if err != nil {
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
		return Figure{Value: x, Step: stepOf(text)}, nil
	}
	return Figure{}, sheet.Problem{What: fmt.Sprintf("%q %s", text, what), Mend: mend}
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
