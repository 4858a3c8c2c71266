package screen

import (
	"fmt"
	"io"
	"slices"

	"legwork/diagnose"
)

// Verdict writes a result for a person.
func Verdict(out io.Writer, r diagnose.Result, s Style) error {
	return (&writer{Style: s, out: out}).whole(r)
}

// AsLeft writes the result of readings after the last move.
func AsLeft(out io.Writer, r diagnose.Result, s Style) error {
	return (&writer{Style: s, out: out, asLeft: true}).whole(r)
}

func (w *writer) whole(r diagnose.Result) error {
	w.verdict(r)
	w.steps(KeepAwayHead, KeepAway(&r))
	w.channels(r)
	w.sketch(r)
	w.drawing(r)
	w.list("The readings themselves look wrong", "  - ", FaultWords(&r))
	w.cautions(r)
	w.moves(r)
	w.tests(r)
	w.others(r)
	w.list("Notes", "  - ", r.Notes)
	w.list("What the meter can't know", "  - ", r.Limits)
	return w.err
}

func (w *writer) verdict(r diagnose.Result) {
	w.verdictLine(wordOf(r.Verdict), r.Sentence())
	service := "Service " + r.Service.Name
	switch {
	case !slices.ContainsFunc(r.Channels, func(c diagnose.ChannelJudged) bool { return c.State != diagnose.StateNoVoltage }) && r.Service.Inferred:
		service = "Service not known; --service says it"
	case r.Service.Inferred:
		service += " (inferred from the voltages; --service sets it)"
	}
	if q := r.Likeliest().Sequence; q != nil && r.Verdict != diagnose.Undecided {
		service += ", sequence " + *q
	}
	if r.Steps > 0 {
		service += "; " + Count(r.Steps, "change of load", "changes of load") + " used"
	}
	w.line(w.plain(service))
}

// stateWords say a channel's state.
var stateWords = map[diagnose.State]string{
	diagnose.StateAgrees: "agrees", diagnose.StateReversed: "CT reversed", diagnose.StateCrossed: "on another leg",
	diagnose.StateReversedCrossed: "another leg, reversed", diagnose.StateUnloaded: "too little current",
	diagnose.StateNoVoltage: "no voltage", diagnose.StateUnclear: "not clear",
}

var channelWidths = []int{7, 7, 8, 8, 8, 7, -21}

func (w *writer) channels(r diagnose.Result) {
	w.line("")
	w.heads([]string{"channel", "V", "A", "kW", "kvar", "lag °", "state"}, channelWidths)
	for _, c := range r.Channels {
		state := StateWords(&r, c)
		if c.State != diagnose.StateAgrees {
			state = w.paint(bold, state)
		}
		w.row([]string{fmt.Sprint(c.Channel), Plain(c.Voltage, 1), Amount(c.Current, 1),
			Amount(c.Power, 1000), Amount(c.Reactive, 1000), Plain(c.Angle, 1), state}, channelWidths)
	}
}

// drawing shows the phasors: long rays are voltages, dotted ones currents.
func (w *writer) drawing(r diagnose.Result) {
	rays, apart := Rays(r)
	if len(rays) == 0 {
		return
	}
	if w.Words {
		w.raysInWords(rays, apart)
		return
	}
	w.line("")
	for _, l := range Phasors(rays, 46, 17, w.ASCII) {
		w.line("      " + l)
	}
	if apart {
		w.item("      ", "Each current is drawn against its own voltage (V): the angles between the voltages are unknown")
	}
}

// FaultWords says what is wrong with the readings themselves.
func FaultWords(r *diagnose.Result) []string {
	var all []string
	for _, d := range r.DataFaults {
		all = append(all, fmt.Sprintf("%s: %s; %s", d.Point, d.Fault, d.Mend))
	}
	return all
}

func (w *writer) cautions(r diagnose.Result) {
	if r.Verdict != diagnose.Agrees { // else nothing is to be touched
		w.list("Before anything is touched", "  ! ", r.Cautions)
	}
}

// moves says what to move and what should be read then.
func (w *writer) moves(r diagnose.Result) {
	if len(r.Advised()) == 0 {
		return
	}
	x := r.Likeliest()
	for i, m := range x.Moves {
		name := "What to do"
		if i > 0 {
			name = fmt.Sprintf("Or, instead (%d)", i+1)
		}
		kind := "everything dead"
		if i > 0 {
			kind = "everything dead, the other steps as above"
		}
		if m.LiveWork {
			kind = "live work"
		}
		w.head(fmt.Sprintf("%s - %s", name, kind))
		for n, step := range m.Steps {
			if i > 0 && !m.LiveWork && slices.Contains(x.Moves[0].Steps, step) {
				continue // as in the first move
			}
			w.item(fmt.Sprintf("  %d. ", n+1), step)
		}
		if i == 0 {
			w.expected(x)
		}
	}
	w.registration(x)
}

func (w *writer) expected(x diagnose.Explanation) {
	if len(x.Expect) == 0 {
		return
	}
	w.item("  ", "Then, at the same load, the channels should read:")
	for _, e := range x.Expect {
		cells := []string{fmt.Sprint(e.Channel), Amount(e.Power, 1000) + " kW", "lag " + Plain(e.Angle, 1) + "°"}
		w.row(cells, []int{7, 12, 16})
	}
}

func (w *writer) registration(x diagnose.Explanation) {
	best, ok := x.Registration.Get()
	if !ok {
		return
	}
	head := "Registration as found"
	if w.asLeft {
		head = "Registration as left"
	}
	w.head(head)
	w.item("  ", fmt.Sprintf("%.3f of the true power at this load, between %.3f and %.3f. "+
		"Over a billing period the load varies. "+
		"Only authorised parties may adjust bills.", best, x.RegistrationLow.Or(best), x.RegistrationHigh.Or(best)))
}

func (w *writer) tests(r diagnose.Result) {
	if len(r.NextTests) == 0 {
		return
	}
	w.head("The test that would settle most")
	for i, t := range r.NextTests[:min(3, len(r.NextTests))] {
		w.item(fmt.Sprintf("  %d. ", i+1), t.Ask)
	}
}

// others lists what else the readings may mean, where it isn't settled.
func (w *writer) others(r diagnose.Result) {
	if r.Verdict == diagnose.Agrees || len(r.Explanations) < 2 {
		return
	}
	w.head("What the readings may mean")
	for _, x := range r.Explanations {
		w.item(fmt.Sprintf("  %5.1f %%  ", 100*x.Probability), x.Words)
	}
}
