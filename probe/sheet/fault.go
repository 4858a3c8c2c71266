package sheet

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
)

// Fault is one thing that is wrong in a file, and what would be right.
type Fault struct {
	File         string
	Line, Column int // from 1
	What, Mend   string
	Snippet      string // the line, and a caret below; may be empty
}

// Error is one line: FILE:LINE:COLUMN: what is wrong; what would be right.
func (f Fault) Error() string {
	s := fmt.Sprintf("%s:%d:%d: %s", f.File, f.Line, f.Column, f.What)
	if f.Mend != "" {
		s += "; " + f.Mend
	}
	return s
}

// Faults is every fault of a file, in the order of its lines.
type Faults struct{ List []Fault }

// Error is one line a fault.
func (f *Faults) Error() string {
	lines := make([]string, len(f.List))
	for i, one := range f.List {
		lines[i] = one.Error()
	}
	return strings.Join(lines, "\n")
}

// mostFaults are reported; a file with more has one cause, or isn't such a file.
const mostFaults = 50

// err is nil where there are no faults.
func (f *Faults) err() error {
	if len(f.List) == 0 {
		return nil
	}
	slices.SortStableFunc(f.List, func(a, b Fault) int {
		return cmp.Or(cmp.Compare(a.Line, b.Line), cmp.Compare(a.Column, b.Column))
	})
	f.List = f.List[:min(len(f.List), mostFaults)]
	return f
}

// Near is the one of names that was probably meant, or empty.
func Near(name string, names []string) string {
	best, least := "", 2+len(name)/3
	for _, n := range names {
		if d := distance(strings.ToLower(name), n); d < least {
			best, least = n, d
		}
	}
	return best
}

// distance is how many letters must be added, dropped, changed or exchanged
// with their neighbour (optimal string alignment).
func distance(a, b string) int {
	before, last := make([]int, len(b)+1), make([]int, len(b)+1)
	for j := range last {
		last[j] = j
	}
	for i := 1; i <= len(a); i++ {
		row := make([]int, len(b)+1)
		row[0] = i
		for j := 1; j <= len(b); j++ {
			change := 1
			if a[i-1] == b[j-1] {
				change = 0
			}
			row[j] = min(last[j]+1, row[j-1]+1, last[j-1]+change)
			if i > 1 && j > 1 && a[i-1] == b[j-2] && a[i-2] == b[j-1] {
				row[j] = min(row[j], before[j-2]+1)
			}
		}
		before, last = last, row
	}
	return last[len(b)]
}
