package diagnose

import (
	"legwork/diagnose/internal/advice"
	"legwork/diagnose/internal/prior"
)

// Tables hold what is worked out once and used by every case: the densities of
// load angles, the priors, and what is said of each arrangement. They are filled
// as they are needed, and may be used from several goroutines. The first verdict
// on a kind of service takes some tens of milliseconds to fill them, so that
// whoever judges more than one meter hands the same ones to all.
type Tables struct {
	known   *prior.Tables
	phrases advice.Phrases
}

// NewTables makes tables that hold nothing yet.
func NewTables() *Tables { return &Tables{known: prior.NewTables()} }
