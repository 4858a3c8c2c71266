package diagnose

// Likeliest is the first explanation; the zero value where there is none.
func (r *Result) Likeliest() Explanation {
	if len(r.Explanations) == 0 {
		return Explanation{}
	}
	return r.Explanations[0]
}

// Advised are the moves of a fault, the first of which is to be made; none while people
// are to keep away.
func (r *Result) Advised() []Move {
	if r.Verdict != Fault || r.KeepAway {
		return nil
	}
	return r.Likeliest().Moves
}
