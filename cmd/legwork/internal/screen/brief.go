package screen

import (
	"bytes"
	"fmt"
	"io"
	"strings"

	"legwork/diagnose"
)

// briefLines is what a result takes at most where not all of it is asked for: one
// screen of a terminal.
const briefLines = 24

// briefCaution is the one line of caution before a move; `legwork help safety` and the
// whole result have the rest.
const briefCaution = "Qualified people only. Supply off, locked out, proved dead. Never open a CT's secondary under load"

// Brief writes a result for a person on one screen: the verdict, the channels, what
// to do, what to expect, and what else it may be.
func Brief(out io.Writer, r diagnose.Result, s Style) error {
	var b bytes.Buffer
	w := &writer{Style: s, out: &b}
	w.verdict(r)
	w.channels(r)
	if !r.KeepAway {
		w.line("")
	}
	w.briefDanger(r)
	w.briefFaults(r)
	w.briefMove(r)
	w.briefTests(r)
	w.briefOthers(r)
	lines := strings.Split(strings.TrimRight(b.String(), "\n"), "\n")
	if len(lines) > briefLines {
		lines = append(lines[:briefLines-1], w.label("MORE", "--full prints the rest"))
	}
	_, err := io.WriteString(out, strings.Join(lines, "\n")+"\n")
	return err
}

const labelWidth = 9

func (w *writer) label(word, text string) string {
	return fmt.Sprintf("%-*s%s", labelWidth, word, text)
}

// labelled writes a paragraph beside a word.
func (w *writer) labelled(word, text string) {
	for i, l := range w.wrap(text, labelWidth) {
		if i > 0 {
			word = ""
		}
		w.line(w.label(word, l))
	}
}

// briefDanger writes the cautions about what these readings show.
func (w *writer) briefDanger(r diagnose.Result) {
	danger := KeepAway(&r)
	w.steps(KeepAwayHead, danger)
	for i, c := range r.Cautions {
		if !diagnose.Standing(c) && (i > 0 || len(danger) == 0) { // the first is what the steps say
			w.labelled("DANGER", c)
		}
	}
}

func (w *writer) briefFaults(r diagnose.Result) {
	const most = 3
	for i, d := range r.DataFaults {
		if i == most {
			w.labelled("", fmt.Sprintf("and %d more", len(r.DataFaults)-most))
			return
		}
		word := ""
		if i == 0 {
			word = "READINGS"
		}
		w.labelled(word, fmt.Sprintf("%s: %s; %s", d.Point, d.Fault, d.Mend))
	}
}

// briefMove writes the first move without what opens and closes every dead one, what
// to expect, and the registration as found.
func (w *writer) briefMove(r diagnose.Result) {
	if r.KeepAway || r.Verdict != diagnose.Fault || len(r.Explanations) == 0 || len(r.Explanations[0].Moves) == 0 {
		return
	}
	x := r.Explanations[0]
	steps := x.Moves[0].Steps
	if !x.Moves[0].LiveWork && len(steps) > 2 {
		w.labelled("CAUTION", briefCaution)
		steps = steps[1 : len(steps)-1]
	}
	for i, step := range steps {
		word := ""
		if i == 0 {
			word = "MOVE"
		}
		w.labelled(word, step)
	}
	var after []string
	for _, e := range x.Expect {
		watts, okW := e.Power.Get()
		angle, okT := e.Angle.Get()
		after = append(after, fmt.Sprintf("ch %d %s kW, lag %s°", e.Channel, Figures(watts/1000, okW), Fixed(float64(angle), okT, 1)))
	}
	if len(after) > 0 {
		w.labelled("EXPECT", "at the same load: "+strings.Join(after, "; "))
	}
	if best, ok := x.Registration.Get(); ok {
		w.labelled("REGISTERS", fmt.Sprintf(" %.3f of the true power, between %.3f and %.3f", best, x.RegistrationLow.Or(best), x.RegistrationHigh.Or(best)))
	}
	if x.Sequence != nil {
		w.labelled("SEQUENCE", *x.Sequence)
	}
}

func (w *writer) briefTests(r diagnose.Result) {
	if r.Verdict == diagnose.Agrees {
		return
	}
	const most = 3
	for i, t := range r.NextTests[:min(most, len(r.NextTests))] {
		word := ""
		if i == 0 {
			word = "NEXT"
		}
		w.labelled(word, t.Ask)
	}
}

// briefOthers writes the runner-up and what a person should know beside.
func (w *writer) briefOthers(r diagnose.Result) {
	for i, note := range r.Notes {
		word := ""
		if i == 0 {
			word = "NOTE"
		}
		w.labelled(word, note)
	}
	if r.Verdict != diagnose.Agrees && len(r.Explanations) > 1 {
		x := r.Explanations[1]
		w.labelled("ELSE", fmt.Sprintf("%.1f %%  %s", 100*x.Probability, x.Words))
	}
}
