package diagnose

import "strings"

// openLead is how the summary of an open verdict begins.
const openLead = "Undecided: "

// Sentence is the summary for who shows the verdict's word beside it: that of an
// open verdict begins with the word, so that it can't be read without it.
func (r *Result) Sentence() string { return strings.TrimPrefix(r.Summary, openLead) }
