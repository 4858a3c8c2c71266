package diagnose

// Learn adds the result of a test to a case that is open, as Options.Findings does
// to one that is opened.
func (c *Case) Learn(f Finding) {
	c.options.Findings = append(c.options.Findings[:len(c.options.Findings):len(c.options.Findings)], f)
}

// Standing reports whether a caution of a Result is one that stands before
// every move, as against one about what these readings show, which comes first
// and forbids load steps.
func Standing(caution string) bool {
	switch caution {
	case cautionPeople, cautionDead, cautionSecondary, cautionReference:
		return true
	}
	return false
}
