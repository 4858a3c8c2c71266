package sheet

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
	"strings"
)

// Problem is what is wrong with something that was written, and what would be
// right. It is an error that has no place yet: parsers of single values give it,
// and Node.Refuse finds the place.
type Problem struct {
	What, Mend string // Mend may be empty
}

// Error is both in one line: what is wrong; what would be right.
func (p Problem) Error() string {
	if p.Mend == "" {
		return p.What
	}
	return p.What + "; " + p.Mend
}

// ProblemOf is the Problem within an error; another error is all What.
func ProblemOf(err error) Problem {
	var p Problem
	if !errors.As(err, &p) {
		p.What = err.Error()
	}
	return p
}

// Fault is one thing that is wrong in a file, with its place.
type Fault struct {
	File         string
	Line, Column int // from 1
	Problem
	Snippet string // the line, and a caret below; may be empty
}

// Error is one line: FILE:LINE:COLUMN: what is wrong; what would be right.
func (f Fault) Error() string {
	return fmt.Sprintf("%s:%d:%d: %s", f.File, f.Line, f.Column, f.Problem.Error())
}

// Faults is every fault of a file, in the order of its lines.
type Faults struct {
	List []Fault
	More int // further ones, which Err has left out
}

// Error is one line a fault.
func (f *Faults) Error() string {
	lines := make([]string, len(f.List))
	for i, one := range f.List {
		lines[i] = one.Error()
	}
	return strings.Join(lines, "\n")
}

// Told are the first faults, as many as a person wants to read at once, and a
// line that counts the rest; empty where there are no more.
func (f *Faults) Told() (first []Fault, rest string) {
	first = f.List[:min(len(f.List), 10)]
	if more := f.More + len(f.List) - len(first); more > 0 {
		rest = fmt.Sprintf("%s: %d more faults; mend these first, and look again", first[0].File, more)
	}
	return first, rest
}

// Add takes one more fault.
func (f *Faults) Add(one Fault) { f.List = append(f.List, one) }

// mostFaults are reported; a file with more has one cause, or isn't such a file.
const mostFaults = 50

// Err gives the faults in order, or nil where there are none.
func (f *Faults) Err() error {
	if len(f.List) == 0 {
		return nil
	}
	slices.SortStableFunc(f.List, func(a, b Fault) int {
		return cmp.Or(cmp.Compare(a.Line, b.Line), cmp.Compare(a.Column, b.Column))
	})
	if left := len(f.List) - mostFaults; left > 0 {
		f.List, f.More = f.List[:mostFaults], f.More+left
	}
	return f
}

// mostWords is the length of what is said of one fault, which may quote the file.
const mostWords = 300

// Short cuts the middle out of what is too long to read in a line.
func Short(s string) string {
	if len(s) <= mostWords {
		return s
	}
	const end = mostWords / 3
	return strings.ToValidUTF8(s[:mostWords-end], "") + " … " + strings.ToValidUTF8(s[len(s)-end:], "")
}
