package report

import (
	"fmt"

	"legwork/cmd/legwork/internal/record"
	"legwork/cmd/legwork/internal/screen"
	"legwork/diagnose"
)

// todo is what a verdict leads to.
type todo struct {
	ID, Head string
	Lead     string // why it is told in the past; empty of what is left to do
	Cautions []string
	LiveWork bool
	Steps    []string // of the first move
}

func todoOf(r *diagnose.Result) todo {
	t := todo{Cautions: shownAll(r.Cautions)}
	if moves := r.Advised(); len(moves) > 0 {
		t.Steps, t.LiveWork = shownAll(moves[0].Steps), moves[0].LiveWork
	}
	return t
}

// advise keeps what is left to do by the last readings, unless something was moved since,
// and what was advised before.
func (v *view) advise(log *record.Log) {
	last := log.Last(record.AsFound, record.AsLeft)
	if last == nil {
		return
	}
	v.Danger, v.DangerHead = shownAll(screen.KeepAway(last.Verdict)), screen.KeepAwayHead
	since := fmt.Sprintf("This was the advice then, and it is not for now: entry %d says what holds.", last.Number)
	moved := log.Move(last.Number)
	if moved == nil {
		v.left(todoOf(last.Verdict), readWhen(log, last))
	} else {
		since = fmt.Sprintf("This was the advice then. Entry %d moved something since: record as-left before more is moved.",
			moved.Number)
		v.past(todoOf(last.Verdict), readWhen(log, last), since)
	}
	if found, _ := log.Found(); found != nil && found != last {
		v.past(todoOf(found.Verdict), readWhen(log, found), since)
	}
}

// readWhen names readings as the report does elsewhere.
func readWhen(log *record.Log, e *record.Sealed) string {
	switch found, late := log.Found(); {
	case e == found && late == "":
		return "the readings as found"
	case e.Kind == record.AsLeft:
		return "the readings as left"
	}
	return fmt.Sprintf("the readings of entry %d", e.Number)
}

func (v *view) left(t todo, by string) {
	if len(t.Cautions)+len(t.Steps) > 0 {
		t.ID, t.Head = "left", "What to do, by "+by
		v.Todos = append(v.Todos, t)
	}
}

// past adds steps that were advised. Cautions hold for whatever is touched; they are
// said once.
func (v *view) past(t todo, by, lead string) {
	if len(t.Steps) == 0 {
		return
	}
	if len(v.Todos) > 0 {
		t.Cautions = nil
	}
	t.ID, t.Head, t.Lead = fmt.Sprintf("past-%d", len(v.Todos)), "What was advised, by "+by, lead
	v.Todos = append(v.Todos, t)
}
