package capture

import (
	"bytes"
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

// quantities finds a quantity by its name.
var quantities = func() map[string]reading.Quantity {
	all := map[string]reading.Quantity{}
	for _, p := range reading.Points() {
		all[p.Quantity.String()] = p.Quantity
	}
	return all
}()

// quantityOf gives the quantity of a name, if it is one of the scope.
func quantityOf(name []byte, scope reading.Scope) (reading.Quantity, bool) {
	q, ok := quantities[string(name)]
	return q, ok && q.Scope() == scope
}

// unknownName says that a capture has no such name.
type unknownName struct{ name, near string }

func (e unknownName) Error() string {
	s := fmt.Sprintf("%q is not known here", e.name)
	if e.near != "" {
		s += fmt.Sprintf("; did you mean %s?", e.near)
	}
	return s
}

// unknown is the error for a name among the quantities of a scope and others.
func unknown(name []byte, scope reading.Scope, others ...string) error {
	for _, p := range reading.Points() {
		if p.Quantity.Scope() == scope && p.Index <= 1 {
			others = append(others, p.Quantity.String())
		}
	}
	text := printable(name)
	return unknownName{text, sheet.Near(text, others)}
}

// names are those of one object so far.
type names struct {
	known [20][]byte // an object of a capture has 15 at most
	n     int
}

// each refuses a name that stands twice, and puts it before what value finds
// wrong.
func (s *names) each(name []byte, value func(name []byte) error) error {
	for _, before := range s.known[:s.n] {
		if bytes.Equal(before, name) {
			return fmt.Errorf("%q stands twice", printable(name))
		}
	}
	if s.n < len(s.known) {
		s.known[s.n] = name
		s.n++
	}
	err := value(name)
	if e, ok := err.(*fieldError); ok && !e.whole {
		e.where = string(name) + ": " + e.where
	}
	return err
}

// printable is a text of a file made fit for one line of an error.
func printable(b []byte) string {
	return strings.Map(func(r rune) rune {
		if r < ' ' || r == 0x7F || r == '\uFFFD' {
			return '?'
		}
		return r
	}, strings.ToValidUTF8(string(b), "?"))
}
