package clamp

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"
)

// Accuracy is what the maker of an instrument states: a limit of its error as a
// share of the reading and in steps of the last digit.
type Accuracy struct {
	Share  float64 `json:"share"`
	Digits float64 `json:"digits"`
}

// The accuracy taken where none is stated; common practice, no source.
func defaultCurrent() Accuracy { return Accuracy{0.02, 5} }
func defaultVoltage() Accuracy { return Accuracy{0.01, 3} }

// accuracyForm is SIGN SHARE DIGITS, either of the two left out.
var accuracyForm = regexp.MustCompile(`^(?:±|\+/-|\+-)? ?` +
	`(?:\(? ?([0-9]+(?:[.,][0-9]+)?) ?%(?: of (?:reading|rdg))?)?` +
	`(?: ?\+? ?([0-9]+) ?(?:digits?|dgts?|d|counts?)? ?\)?)?$`)

// ParseAccuracy reads "2 % + 3 digits", "1,5 %", "± 5 digits". The error is one
// line that says what would be right.
func ParseAccuracy(text string) (Accuracy, error) {
	plain := strings.ToLower(strings.Join(strings.Fields(text), " "))
	m := accuracyForm.FindStringSubmatch(plain)
	if m == nil || m[1] == "" && (m[2] == "" || !strings.ContainsAny(plain, "dc")) {
		return Accuracy{}, fmt.Errorf("%q is not an accuracy; say it as the maker does, such as `2 %% + 3 digits`", text)
	}
	var a Accuracy
	if m[1] != "" {
		percent, _ := strconv.ParseFloat(strings.Replace(m[1], ",", ".", 1), 64) // the pattern lets nothing else through
		a.Share = percent / 100
	}
	if m[2] != "" {
		a.Digits, _ = strconv.ParseFloat(m[2], 64)
	}
	if a.Share > 0.2 || a.Digits > 1000 || a == (Accuracy{}) {
		return Accuracy{}, fmt.Errorf("%q is no accuracy of an instrument to compare with; at most 20 %% and 1000 digits, "+
			"and above nothing", text)
	}
	return a, nil
}

// String is the accuracy as makers write it.
func (a Accuracy) String() string {
	switch {
	case a.Digits == 0:
		return fmt.Sprintf("%.4g %%", 100*a.Share)
	case a.Share == 0:
		return fmt.Sprintf("%.4g digits", a.Digits)
	}
	return fmt.Sprintf("%.4g %% + %.4g digits", 100*a.Share, a.Digits)
}

// limit is the largest error of a value, in its unit: share x value + digits x
// one step of the last digit, as makers state it (common practice, no source).
func (a Accuracy) limit(r Read) float64 { return a.Share*r.Value + a.Digits*r.Digit }
