package record

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"unicode"

	"legwork/diagnose/ledger"
	"legwork/probe/reading"
)

// Read is a value that a person read off a display or an instrument.
type Read struct {
	Text  string  `json:"text"`  // as it was written
	Name  string  `json:"name"`  // what was read; may be empty
	Value float64 `json:"value"` // in Unit
	Unit  string  `json:"unit"`  // Wh, VAh, varh, W, VA, var, V, A, Hz or deg
}

// readUnits are tried in this order.
var readUnits = []string{"Wh", "VAh", "varh", "W", "VA", "var", "V", "A", "Hz", "deg"}

// ParseRead reads "12345.6 kWh", or with a name before a colon "import: 12345.6
// kWh". The unit must be there: a bare number proves nothing later.
func ParseRead(text string) (Read, error) {
	r := Read{Text: strings.TrimSpace(text)}
	value := r.Text
	if i := strings.LastIndex(value, ":"); i >= 0 {
		r.Name, value = strings.TrimSpace(value[:i]), strings.TrimSpace(value[i+1:])
	}
	last := []rune(value)
	if len(last) == 0 || !unicode.IsLetter(last[len(last)-1]) {
		return r, fmt.Errorf("%q: write a value with its unit, such as 12345.6 kWh", text)
	}
	unit := value[strings.LastIndexAny(value, "0123456789.,")+1:]
	unit = strings.TrimSpace(unit)
	for _, u := range readUnits {
		if slices.Contains([]string{u, "k" + u, "M" + u, "m" + u}, unit) {
			x, err := reading.ParseQuantity(value, u)
			r.Value, r.Unit = x, u
			return r, err
		}
	}
	return r, fmt.Errorf("%q: %q is no unit here; there are %s, with k, M or m before them", text, unit,
		strings.Join(readUnits, ", "))
}

// NewRead reads what a person notes now, and refuses what is probably a slip: it stays in
// the record.
func NewRead(text string) (Read, error) {
	r, err := ParseRead(text)
	if err != nil {
		return r, err
	}
	switch r.Unit {
	case "Wh", "VAh":
		err = ledger.CheckNoted(r.Name, r.Text[strings.LastIndex(r.Text, ":")+1:])
	case "W", "VA", "var":
		if ledger.IsRegister(r.Name) {
			err = errors.New("that is power, and a register shows energy, such as 12345.6 kWh; a power has another name: " +
				"\"power: 9 kW\"")
		}
	}
	if err != nil {
		err = fmt.Errorf("%q: %w", text, err)
	}
	return r, err
}
