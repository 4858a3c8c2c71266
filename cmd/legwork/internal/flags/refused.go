package flags

import (
	"errors"
	"fmt"

	"github.com/spf13/pflag"
)

// Refused says why a flag's value can't be taken.
type Refused struct {
	What  string // is wrong, the value first: `"xml" is not text or json`
	Mend  string // what would be right; may be empty
	Apart bool   // What begins with a subject of its own, and a colon goes before it
}

// Error is one line.
func (r Refused) Error() string {
	if r.Mend == "" {
		return r.What
	}
	return r.What + "; " + r.Mend
}

// Explain names the flag of an error of parsing, where one of our values is
// refused; other errors are given back as they are, with false.
func Explain(err error) (error, bool) {
	var invalid *pflag.InvalidValueError
	var r Refused
	if !errors.As(err, &invalid) || !errors.As(err, &r) {
		return err, false
	}
	between := " "
	if r.Apart {
		between = ": "
	}
	return fmt.Errorf("--%s%s%w", invalid.GetFlag().Name, between, r), true
}

// refuse makes any error one of ours.
func refuse(err error) error {
	if err == nil || errors.As(err, new(Refused)) {
		return err
	}
	return Refused{What: err.Error()}
}
