package survey

import (
	"encoding/csv"
	"io"
	"strconv"
	"strings"

	"legwork/probe/reading"
)

// CSV writes a row a meter, for spreadsheets.
func CSV(w io.Writer, r *Result) error {
	out := csv.NewWriter(w)
	out.UseCRLF = true // RFC 4180, 2
	_ = out.Write([]string{"name", "site", "status", "lost_power_w", "lost_power_low_w", "lost_power_high_w", "power_w",
		"summary"})
	for _, m := range r.Meters {
		_ = out.Write([]string{safe(m.Name), safe(m.Site), string(m.Status), number(m.Lost), number(m.Low), number(m.High),
			number(m.Power), safe(m.Summary)})
	}
	out.Flush() // errors of Write come again here
	return out.Error()
}

func number(v reading.Value) string {
	x, known := v.Get()
	if !known {
		return ""
	}
	return strconv.FormatFloat(x, 'f', 1, 64)
}

// safe keeps a spreadsheet from running a text as a formula: an apostrophe goes
// before what could begin one, blanks before it included.
func safe(s string) string {
	s = strings.Map(func(c rune) rune {
		if c == '\r' || c == '\n' || c == '\t' || c == 0 {
			return ' '
		}
		return c
	}, s)
	if t := strings.TrimLeft(s, " \u00a0"); t != "" && strings.ContainsRune("=+-@|%＝＋－＠", []rune(t)[0]) {
		return "'" + s
	}
	return s
}
