package screen

import (
	"bytes"
	"fmt"
	"io"
	"slices"
	"strings"

	"legwork/diagnose"
)

// briefLines is what a result takes at most where not all of it is asked for: one
// screen of a terminal.
const briefLines = 24

// briefCaution is the one line of caution before a move; `legwork help safety` and the
// whole result have the rest.
const briefCaution = "Be qualified, lock out, prove dead; never open a loaded CT secondary"

// briefCautionLive is that before a look, a clamp or a voltmeter beside live parts.
const briefCautionLive = "For those qualified, with arc-flash protection; never open a loaded CT secondary"

// briefTests is how many tests are shown where there is room.
const briefTests = 3

// Brief writes a result for a person on one screen: the verdict, the channels, the sketch of a fault where there is
// room, what to do, what to expect, and what else it may be.
func Brief(out io.Writer, r diagnose.Result, s Style) error {
	picture := briefSketch(r, s)
	lines := briefly(r, s, picture, 1)
	if len(picture) == 0 || len(lines) > briefLines {
		picture = nil
	}
	for tests := briefTests; tests > 0; tests-- { // a sketch is worth more than a second test
		lines = briefly(r, s, picture, tests)
		if len(picture) == 0 || len(lines) <= briefLines {
			break
		}
	}
	if len(lines) > briefLines {
		lines = append(lines[:briefLines-1], s.label("MORE", "--full prints the rest"))
	}
	_, err := io.WriteString(out, strings.Join(lines, "\n")+"\n")
	return err
}

// briefly is the screen with a picture and so many tests.
func briefly(r diagnose.Result, s Style, picture []string, tests int) []string {
	var b bytes.Buffer
	w := &writer{Style: s, out: &b}
	w.verdict(r)
	w.channels(r)
	if !r.KeepAway {
		w.line("")
	}
	for _, l := range picture {
		w.line(l)
	}
	if len(picture) > 0 {
		w.line("")
	}
	w.briefDanger(r)
	if !r.KeepAway && len(r.Advised()) == 0 && beside(r, tests) {
		w.labelled("CAUTION", briefCautionLive)
	}
	w.briefFaults(r)
	w.briefMove(r)
	w.briefWhichever(r)
	w.briefTests(r, tests)
	w.briefOthers(r)
	return strings.Split(strings.TrimRight(b.String(), "\n"), "\n")
}

// briefSketch is the sketch of a fault, which is what a person moves by.
func briefSketch(r diagnose.Result, s Style) []string {
	if r.Verdict != diagnose.Fault || r.KeepAway {
		return nil
	}
	return s.SketchLines(&r)
}

const labelWidth = 9

func (s Style) label(word, text string) string {
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

// labelledOnce writes paragraphs, the first of which has a word beside it.
func (w *writer) labelledOnce(word string, texts []string) {
	for _, text := range texts {
		w.labelled(word, text)
		word = ""
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
	faults := FaultWords(&r)
	if left := len(faults) - most; left > 0 {
		faults = append(faults[:most], fmt.Sprintf("and %d more", left))
	}
	w.labelledOnce("READINGS", faults)
}

// beside reports that what is to be done next is done beside live parts.
func beside(r diagnose.Result, tests int) bool {
	near := slices.ContainsFunc(r.DataFaults, func(d diagnose.DataFault) bool { return strings.HasPrefix(d.Point, "current.") })
	if r.Verdict == diagnose.Agrees {
		return near
	}
	return near || slices.ContainsFunc(r.NextTests[:min(tests, len(r.NextTests))], func(t diagnose.NextTest) bool {
		return slices.Contains([]string{"look", "trace", "clamp", "voltage", "sequence"}, t.Test)
	})
}

// briefMove writes the first move without what opens and closes every dead one, what
// to expect, and the registration as found.
func (w *writer) briefMove(r diagnose.Result) {
	if len(r.Advised()) == 0 {
		return
	}
	x := r.Likeliest()
	steps := x.Moves[0].Steps
	w.labelled("CAUTION", briefCaution)
	if !x.Moves[0].LiveWork && len(steps) > 2 {
		steps = steps[1 : len(steps)-1]
	}
	w.labelledOnce("MOVE", steps)
	if after := expectWords(x.Expect); after != "" {
		w.labelled("EXPECT", "at the same load: "+after)
	}
	if best, ok := x.Registration.Get(); ok {
		w.labelled("REGISTERS", fmt.Sprintf(" %.3f of the true power, between %.3f and %.3f", best, x.RegistrationLow.Or(best), x.RegistrationHigh.Or(best)))
	}
}

// briefWhichever writes what is to be expected whichever explanation holds, where the
// verdict is open and something will read otherwise than now.
func (w *writer) briefWhichever(r diagnose.Result) {
	if r.Verdict != diagnose.Undecided || len(r.Explanations) < 2 || !r.Changes() {
		return
	}
	if after := expectWords(r.Expect); after != "" {
		w.labelled("EXPECT", "whichever it is, once right, at the same load: "+after)
	}
}

// expectWords lists what channels should read.
func expectWords(all []diagnose.ChannelAfter) string {
	var after []string
	for _, e := range all {
		if e.Power.Known() || e.Angle.Known() {
			after = append(after, fmt.Sprintf("ch %d %s kW, lag %s°", e.Channel, Amount(e.Power, 1000), Plain(e.Angle, 1)))
		}
	}
	return strings.Join(after, "; ")
}

func (w *writer) briefTests(r diagnose.Result, most int) {
	if r.Verdict == diagnose.Agrees {
		return
	}
	var asks []string
	for _, t := range r.NextTests[:min(most, len(r.NextTests))] {
		asks = append(asks, t.Ask)
	}
	w.labelledOnce("NEXT", asks)
}

// briefOthers writes the runner-up and what a person should know beside.
func (w *writer) briefOthers(r diagnose.Result) {
	w.labelledOnce("NOTE", r.Notes)
	if r.Verdict != diagnose.Agrees && len(r.Explanations) > 1 {
		x := r.Explanations[1]
		w.labelled("ELSE", fmt.Sprintf("%.1f %%  %s", 100*x.Probability, x.Words))
	}
}
