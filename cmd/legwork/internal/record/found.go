package record

import (
	"cmp"
	"fmt"

	"legwork/diagnose"
	"legwork/diagnose/asleft"
)

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

// Predicted gives the last reading before entry number n that counts and says what is read
// after its move, or says why there is none. One that agreed as found ends the search; one
// that was undecided, or agreed as left, doesn't.
func (l *Log) Predicted(n int) (from *Sealed, none string) {
	for i := len(l.Entries) - 1; i >= 0; i-- {
		e := &l.Entries[i]
		if e.Number >= n || e.Kind != AsFound && e.Kind != AsLeft || e.Verdict == nil || !l.Counts(e) {
			continue
		}
		if asleft.Predicts(e.Verdict) {
			return e, ""
		}
		none = cmp.Or(none, fmt.Sprintf("entry %d %s", e.Number, predictsNothing[e.Verdict.Verdict]))
		if e.Kind == AsFound && e.Verdict.Verdict == diagnose.Agrees {
			break
		}
	}
	return nil, cmp.Or(none, "nothing was read before")
}

var predictsNothing = map[diagnose.Verdict]string{diagnose.Agrees: "agreed already",
	diagnose.Undecided: "was undecided", diagnose.Fault: "gave no move to predict from"}

// Next is the number that the next entry gets.
func (l *Log) Next() int { return len(l.Entries) + 1 }
