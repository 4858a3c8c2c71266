package record

import "fmt"

// Move gives the first move that counts and was noted after entry number n, or nil.
func (l *Log) Move(n int) *Sealed {
	for i := range l.Entries {
		if e := &l.Entries[i]; e.Number > n && len(e.Moves) > 0 && l.Counts(e) {
			return e
		}
	}
	return nil
}

// Late says why what entry number n read isn't the wiring as it was found: something
// was moved before it, or it was read as left. Empty where nothing speaks against it.
// Entries that are struck don't count.
func (l *Log) Late(n int) string {
	if m := l.Move(0); m != nil && m.Number < n {
		return fmt.Sprintf("something was moved before, by entry %d", m.Number)
	}
	if e := l.First(AsLeft); e != nil && e.Number < n {
		return fmt.Sprintf("entry %d before it was read as left", e.Number)
	}
	return ""
}

// Found gives the first reading as found that counts, and what Late says of it; nil
// where there is none.
func (l *Log) Found() (e *Sealed, late string) {
	if e = l.First(AsFound); e != nil {
		late = l.Late(e.Number)
	}
	return e, late
}

// Next is the number that the next entry gets.
func (l *Log) Next() int { return len(l.Entries) + 1 }
