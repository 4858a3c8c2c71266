package keep

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"legwork/cmd/legwork/internal/record"
	"legwork/diagnose"
)

// otherCT says that readings as left show CTs turned which the moves that a person noted
// don't name while they name others; empty where nothing speaks against them.
func otherCT(e *record.Entry, before *record.Log) string {
	from, _ := before.Predicted(before.Next())
	if e.Kind != record.AsLeft || e.Verdict == nil || from == nil {
		return ""
	}
	noted := ctsNamed(before, from.Number)
	var unnamed []int
	for _, ct := range turned(from.Verdict, e.Verdict) {
		if !slices.Contains(noted, ct) {
			unnamed = append(unnamed, ct)
		}
	}
	if len(noted) == 0 || len(unnamed) == 0 {
		return ""
	}
	return fmt.Sprintf("by the readings %s was turned since entry %d, and the moves noted since name %s: where a note "+
		"has the wrong number, strike it and note it anew", cts(unnamed), from.Number, cts(noted))
}

// turned lists the CTs that two results have on the same leg, the other way round.
func turned(was, is *diagnose.Result) (all []int) {
	if is.Verdict == diagnose.Undecided || len(is.Explanations) == 0 || len(was.Explanations[0].Twins) > 0 {
		return nil
	}
	x, y := was.Explanations[0].CT, is.Explanations[0].CT
	for k := range min(len(x), len(y)) {
		judged := x[k].Leg != nil && y[k].Leg != nil && x[k].Reversed != nil && y[k].Reversed != nil
		if judged && *x[k].Leg == *y[k].Leg && *x[k].Reversed != *y[k].Reversed {
			all = append(all, x[k].Channel)
		}
	}
	return all
}

// ctName is how people name CTs in a note: "CT 2", "CTs 1 and 3", "ct2".
var ctName = regexp.MustCompile(`(?i)\bCTs?[\s#-]*\d\b(?:\s*(?:,|and|&|\+|with)\s*\d\b)*`)

// ctsNamed lists the CTs that moves noted after entry number n name.
func ctsNamed(log *record.Log, n int) (all []int) {
	for i := range log.Entries {
		e := &log.Entries[i]
		if e.Number <= n || !log.Counts(e) {
			continue
		}
		for _, name := range ctName.FindAllString(strings.Join(e.Moves, "; "), -1) {
			for _, digit := range strings.FieldsFunc(name, func(r rune) bool { return r < '0' || r > '9' }) {
				ct, _ := strconv.Atoi(digit)
				all = append(all, ct)
			}
		}
	}
	slices.Sort(all)
	return slices.Compact(all)
}

// cts names CTs: "CT 2", "CT 1 and CT 3".
func cts(all []int) string {
	names := make([]string, len(all))
	for i, ct := range all {
		names[i] = fmt.Sprintf("CT %d", ct)
	}
	return strings.Join(names, " and ")
}
