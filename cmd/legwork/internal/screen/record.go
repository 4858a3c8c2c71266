package screen

import (
	"fmt"
	"io"
	"strings"
	"time"

	"legwork/cmd/legwork/internal/record"
	"legwork/diagnose/asleft"
	"legwork/probe/reading"
)

// Count is a number of things: "1 entry", "3 entries".
func Count(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

// Amount writes a quantity, in a unit that is so many SI units, with about
// four figures; a dash where it isn't known.
func Amount(v reading.Value, unit float64) string {
	x, ok := v.Get()
	return Figures(x/unit, ok)
}

// Plain writes a quantity with a few decimals; a dash where it isn't known.
func Plain[T ~float64](v reading.Maybe[T], decimals int) string {
	x, ok := v.Get()
	return Fixed(float64(x), ok, decimals)
}

// OutcomeWords say what became of a prediction.
func OutcomeWords(o asleft.Outcome) string {
	return map[asleft.Outcome]string{asleft.Met: "as predicted", asleft.Missed: "not as predicted",
		asleft.LoadChanged: "another load, not compared", asleft.NotRead: "not read"}[o]
}

// Compared writes predictions against readings; nothing where there are none.
func Compared(out io.Writer, all []record.Compared, s Style) error {
	if len(all) == 0 {
		return nil
	}
	w := &writer{Style: s, out: out}
	w.head("Predicted against read")
	widths := []int{7, 12, 8, 13, 8, -26}
	w.heads([]string{"channel", "predicted kW", "read", "predicted lag", "read", "outcome"}, widths)
	for _, c := range all {
		words := OutcomeWords(c.Outcome)
		if c.Outcome != asleft.Met {
			words = w.paint(bold, words)
		}
		w.row([]string{fmt.Sprint(c.Channel), Amount(c.AtLoad, 1000), Amount(c.Power, 1000),
			Plain(c.ExpectAngle, 1) + "°", Plain(c.Angle, 1) + "°", words}, widths)
	}
	return w.err
}

// Record writes the entries of a record, and what was changed in it first.
func Record(out io.Writer, log *record.Log, s Style) error {
	w := &writer{Style: s, out: out}
	for _, f := range log.Findings {
		w.item("CHANGED  ", OneLine(f))
	}
	for _, c := range log.Cited {
		w.item(map[bool]string{true: "CHANGED  ", false: "note: "}[c.Broken()], OneLine(c.String()))
	}
	for _, r := range log.Remarks {
		w.item("note: ", r)
	}
	for _, e := range log.Entries {
		w.entry(e)
		if by := log.StruckBy(e.Number); by != nil {
			w.item("     "+w.paint(bold, "STRUCK")+" ", OneLine(fmt.Sprintf("by entry %d: %s", by.Number, by.Strikes.Why)))
		}
	}
	return w.err
}

func (w *writer) entry(e record.Sealed) {
	w.head(fmt.Sprintf("%d  %s  %s  seal %s", e.Number, e.At.Format(time.DateTime+" MST"), OneLine(string(e.Kind)),
		e.Seal[:16]))
	if e.Verdict != nil {
		w.item("     ", OneLine(fmt.Sprintf("%s: %s", strings.ToUpper(string(e.Verdict.Verdict)), e.Verdict.Summary)))
		w.item("     ", Count(len(e.Readings), "reading", "readings"))
	}
	if word, sentence := e.Result.Sentence(); word != "" {
		w.item("     ", OneLine(fmt.Sprintf("%s: %s", strings.ToUpper(word), sentence)))
	}
	if e.Strikes != nil {
		w.item("     ", OneLine(fmt.Sprintf("entry %d counts no more: %s", e.Strikes.Number, e.Strikes.Why)))
	}
	for _, c := range e.Compared {
		w.item("     ", fmt.Sprintf("channel %d: %s", c.Channel, OutcomeWords(c.Outcome)))
	}
	for _, group := range []struct {
		name  string
		lines []string
	}{{"given: ", TypedWords("--", e.Typed)}, {"file: ", fileNames(e.Files)}, {"moved: ", e.Moves},
		{"tested: ", e.Tests}, {"read: ", textsOf(e.Reads)}, {"remark: ", e.Remarks}, {"note: ", e.Cautions}} {
		for _, l := range group.lines {
			w.item("     "+group.name, OneLine(l))
		}
	}
}

// TypedWords lists flags as they were given, each after some dashes:
// "--reading leg 1: 87.3 A".
func TypedWords(dashes string, all []record.Typed) []string {
	var words []string
	for _, t := range all {
		word := dashes + t.Flag
		if t.Text != "true" {
			word += " " + t.Text
		}
		words = append(words, word)
	}
	return words
}

func fileNames(all []record.File) []string {
	var words []string
	for _, f := range all {
		words = append(words, fmt.Sprintf("%s, SHA-256 %.16s", f.Name, f.SHA256))
	}
	return words
}

func textsOf(reads []record.Read) []string {
	var all []string
	for _, r := range reads {
		all = append(all, r.Text)
	}
	return all
}
