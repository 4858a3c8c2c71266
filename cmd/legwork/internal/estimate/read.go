package estimate

import (
	"cmp"
	"fmt"
	"strings"

	"legwork/cmd/legwork/internal/job"
	"legwork/cmd/legwork/internal/keep"
	"legwork/cmd/legwork/internal/record"
	"legwork/diagnose"
	"legwork/diagnose/energy"
	"legwork/probe/reading"
)

// tally gathers the loads that a registration is spread over.
type tally struct {
	seen    energy.Observations
	primary float64 // A, that the meter says its CTs have
}

func (t *tally) add(r reading.Reading) {
	t.seen.Add(r)
	t.primary = r.CTPrimary.Or(0)
}

// question is of a verdict and the readings that were added. The rating of the
// CTs is what was said, else the sheet's, else the meter's own.
func (t *tally) question(r diagnose.Result, by energy.Known, sheet *job.Job) energy.Question {
	if by.CTs.Primary == 0 && sheet != nil {
		by.CTs.Primary = sheet.CTs.Primary
	}
	by.CTs.Primary = cmp.Or(by.CTs.Primary, t.primary)
	return energy.OfVerdict(r, &t.seen, by)
}

// Case gathers readings and judges them.
type Case struct {
	on *diagnose.Case
	t  tally
}

// NewCase opens a case without readings.
func NewCase(o diagnose.Options) *Case { return &Case{on: diagnose.New(o)} }

// Add takes one more reading.
func (c *Case) Add(r reading.Reading) {
	c.on.Add(r)
	c.t.add(r)
}

// Question is by the verdict on the readings, which it gives too. sheet may be nil.
func (c *Case) Question(by energy.Known, sheet *job.Job) (energy.Question, diagnose.Verdict) {
	r := c.on.Result()
	return c.t.question(r, by, sheet), r.Verdict
}

// AsFound is by the verdict and the readings as found that the record of a job
// sheet holds: the fault as it stood, which the meter no longer shows once it is
// mended.
func AsFound(sheet string, by energy.Known) (energy.Question, error) {
	j, log, err := keep.Open(sheet, record.Wait{})
	if err != nil {
		return energy.Question{}, err
	}
	found, late := log.Found()
	switch {
	case len(log.Findings) > 0:
		return energy.Question{}, fmt.Errorf("--as-found: %s: %s", j.RecordFile(), log.Findings[0])
	case found == nil:
		return energy.Question{}, fmt.Errorf("--as-found: %s: nothing is recorded as found; "+
			"`legwork record as-found %s` does it before anything is moved", j.RecordFile(), sheet)
	case late != "":
		return energy.Question{}, fmt.Errorf("--as-found: %s: entry %d isn't the wiring as it was found: %s. What was "+
			"recorded by a slip is struck: `legwork record strike %s N --why WHY`. Else say what the fault was: --assume, "+
			"or --registration", j.RecordFile(), found.Number, late, sheet)
	}
	log.CheckFiles(j.RecordFile())
	var t tally
	if err := keep.Readings(&found.Entry, t.add); err != nil {
		return energy.Question{}, err
	}
	q := t.question(*found.Verdict, by, j)
	q.Conditions += fmt.Sprintf(", as found in entry %d of %s", found.Number, found.At.Format("2006-01-02 15:04"))
	for _, c := range log.Cited {
		switch {
		case c.Entry != found.Number:
		case !c.Kept:
			return energy.Question{}, fmt.Errorf("--as-found: %s", c)
		default:
			q.Conditions += "; " + strings.TrimRight(c.String(), ".")
		}
	}
	return q, nil
}

// FaultFound is the number of the entry in which a job's record holds a fault as
// found, or 0: the energy that is asked for may be of the time before it was
// mended. sheet may be nil.
func FaultFound(sheet *job.Job) int {
	if sheet == nil {
		return 0
	}
	log, err := record.At(sheet.RecordFile()).Read()
	if err != nil {
		return 0 // nothing is recorded, or what is can't be read; the estimate doesn't rest on it
	}
	if found, late := log.Found(); found != nil && late == "" && found.Verdict.Verdict == diagnose.Fault {
		return found.Number
	}
	return 0
}
