package capture

import (
	"fmt"
	"strings"

	"legwork/probe/reading"
	"legwork/probe/sheet"
)

// The names of a capture that aren't quantities.
const (
	nameAt               = "at"
	nameService          = "service"
	nameChannels         = "channels"
	nameLineVoltage      = "line_voltage"
	nameSkew             = "skew_ms"
	namePFSign           = "pf_sign"
	nameReactiveUnsigned = "reactive_unsigned"
)

// vocabulary is the points that there are, and their quantities by name.
type vocabulary struct {
	points     []reading.Point
	quantities map[string]reading.Quantity
}

func newVocabulary() vocabulary {
	v := vocabulary{reading.Points(), map[string]reading.Quantity{}}
	for _, p := range v.points {
		v.quantities[p.Quantity.String()] = p.Quantity
	}
	return v
}

// quantity gives the quantity of a name, if it is one of the scope.
func (v vocabulary) quantity(name string, scope reading.Scope) (reading.Quantity, bool) {
	q, ok := v.quantities[name]
	return q, ok && q.Scope() == scope
}

// unknown is the error for a name among the quantities of a scope and others.
func (v vocabulary) unknown(name string, scope reading.Scope, others ...string) error {
	for _, p := range v.points {
		if p.Quantity.Scope() == scope && p.Index <= 1 {
			others = append(others, p.Quantity.String())
		}
	}
	return unknownName(name, sheet.Near(printable(name), others))
}

// unknownName says that a capture has no such name; near may be empty.
func unknownName(name, near string) error {
	if near != "" {
		return fmt.Errorf("%q is not known here; did you mean %s?", printable(name), near)
	}
	return fmt.Errorf("%q is not known here", printable(name))
}

// printable is a text of a file made fit for one line of an error.
func printable(s string) string {
	return strings.Map(func(r rune) rune {
		if r < ' ' || r == 0x7F || r == '\uFFFD' {
			return '?'
		}
		return r
	}, strings.ToValidUTF8(s, "?"))
}
