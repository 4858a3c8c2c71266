package wiring

// Refused says why what a person gave can't be taken.
type Refused struct {
	What string // is wrong
	Mend string // what would be right; may be empty
}

// Error is one line.
func (r Refused) Error() string {
	if r.Mend == "" {
		return r.What
	}
	return r.What + "; " + r.Mend
}
