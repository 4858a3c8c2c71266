package record

import (
	"fmt"
	"strings"
)

// StruckBy gives the entry that strikes entry n, or nil.
func (l *Log) StruckBy(n int) *Sealed {
	for i := range l.Entries {
		if e := &l.Entries[i]; e.Strikes != nil && e.Strikes.Number == n {
			return e
		}
	}
	return nil
}

// Counts reports that an entry isn't struck.
func (l *Log) Counts(e *Sealed) bool { return l.StruckBy(e.Number) == nil }

// CheckStrike refuses to strike what isn't there or is struck already. A strike stays.
func (l *Log) CheckStrike(s Strike) error {
	if strings.TrimSpace(s.Why) == "" {
		return fmt.Errorf("say with --why why entry %d counts no more; it stays in the record, with that beside it", s.Number)
	}
	for i := range l.Entries {
		e := &l.Entries[i]
		if e.Number != s.Number {
			continue
		}
		if by := l.StruckBy(s.Number); by != nil {
			return fmt.Errorf("entry %d is struck already, by entry %d", s.Number, by.Number)
		}
		if e.Strikes != nil {
			return fmt.Errorf("entry %d strikes entry %d, and stays; note anew what holds after all", s.Number, e.Strikes.Number)
		}
		return nil
	}
	return fmt.Errorf("there is no entry %d; `legwork record show` lists them", s.Number)
}

// OtherUnit gives the last read of the same name that counts and was in another unit of
// the same quantity: kWh for MWh; nil where there is none.
func (l *Log) OtherUnit(r Read) (before *Read, entry int) {
	for i := len(l.Entries) - 1; i >= 0; i-- {
		e := &l.Entries[i]
		for k := range e.Reads {
			b := &e.Reads[k]
			if !l.Counts(e) || !strings.EqualFold(b.Name, r.Name) || b.Unit != r.Unit {
				continue
			}
			if b.Shown() == r.Shown() {
				return nil, 0
			}
			return b, e.Number
		}
	}
	return nil, 0
}

// Shown is the unit as it was written: kWh, where Unit is Wh.
func (r *Read) Shown() string {
	return strings.TrimSpace(r.Text[strings.LastIndexAny(r.Text, "0123456789.,")+1:])
}
