package survey

import (
	"encoding/json"
	"fmt"
)

// ParseResult reads what `survey --format json` wrote.
func ParseResult(file string, src []byte) (*Result, error) {
	var r Result
	if err := json.Unmarshal(src, &r); err != nil {
		return nil, fmt.Errorf("%s: this is no result of `legwork survey --format json`: %w", file, err)
	}
	if r.Legwork != Version || r.Meters == nil {
		return nil, fmt.Errorf("%s: this is no result of `legwork survey --format json`; write one with > FILE", file)
	}
	return &r, nil
}

// Compare says what changed from an earlier survey to this one. A meter that
// this one had no time for is left out.
func Compare(now, earlier *Result, listed func(name string) bool) *Against {
	a := &Against{At: earlier.At, New: []Change{}, Other: []Change{}, Mended: []Change{}, Silent: []Change{},
		Gone: []Change{}}
	is := map[string]*Meter{}
	for i := range now.Meters {
		is[now.Meters[i].Name] = &now.Meters[i]
	}
	was := map[string]*Meter{}
	for i := range earlier.Meters {
		m := &earlier.Meters[i]
		was[m.Name] = m
		if is[m.Name] == nil && !listed(m.Name) {
			a.Gone = append(a.Gone, Change{m.Name, m.Summary, ""})
		}
	}
	for i := range now.Meters {
		a.note(&now.Meters[i], was[now.Meters[i].Name])
	}
	return a
}

func (a *Against) note(is, was *Meter) {
	c := Change{Name: is.Name, Is: is.Summary}
	before := Status("")
	if was != nil {
		c.Was, before = was.Summary, was.Status
	}
	switch {
	case is.Status == Fault && before != Fault:
		a.New = append(a.New, c)
	case is.Status == Fault && is.cause() != was.cause():
		a.Other = append(a.Other, c)
	case is.Status == Agrees && before == Fault:
		a.Mended = append(a.Mended, c)
	case is.Status == Unreadable && before != "" && before != Unreadable:
		a.Silent = append(a.Silent, c)
	}
}

// cause is what the fault is, without how probable it is.
func (m *Meter) cause() string {
	if m.Verdict == nil {
		return ""
	}
	return m.Verdict.Likeliest().Words
}
