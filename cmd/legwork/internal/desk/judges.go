package desk

import (
	"time"

	"legwork/diagnose"
)

// judgeEvery is how long a verdict may last while readings go on. Our choice: a
// verdict costs some hundred times what a reading does.
const judgeEvery = time.Minute

// overdue is after how long a verdict is waited for. Our choice.
const overdue = 3 * judgeEvery

// judges are what verdicts of all meters share: tables, and a place for each
// processor. Whoever finds no place judges at its next reading instead, so that
// on a busy machine verdicts get older, and neither readings nor pages wait for
// hundreds of them.
type judges struct {
	tables *diagnose.Tables
	places chan struct{}
}

// place takes one, and reports whether there was any; where the verdict is
// urgent it waits.
func (j *judges) place(urgent bool) bool {
	if urgent {
		j.places <- struct{}{}
		return true
	}
	select {
	case j.places <- struct{}{}:
		return true
	default:
		return false
	}
}

// leave gives the place back.
func (j *judges) leave() { <-j.places }
