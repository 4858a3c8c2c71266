package screen

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strings"

	"legwork/diagnose"
)

// writer gathers lines and the first error.
type writer struct {
	Style
	out io.Writer
	err error
}

func (w *writer) line(text string) {
	if w.err == nil {
		_, w.err = fmt.Fprintln(w.out, strings.TrimRight(text, " "))
	}
}

// item writes a paragraph after a mark, its further lines under its first.
func (w *writer) item(mark, text string) {
	indent := len([]rune(mark))
	for i, l := range w.wrap(text, indent) {
		if i > 0 {
			mark = strings.Repeat(" ", indent)
		}
		w.line(mark + l)
	}
}

func (w *writer) head(text string) {
	w.line("")
	w.line(w.paint(bold, text))
}

// Verdict writes a result for a person.
func Verdict(out io.Writer, r diagnose.Result, s Style) error {
	w := &writer{Style: s, out: out}
	w.verdict(r)
	w.channels(r)
	w.drawing(r)
	w.dataFaults(r)
	w.cautions(r)
	w.steps(r)
	w.tests(r)
	w.others(r)
	w.limits(r)
	return w.err
}

// verdictWords are a verdict's colour and word.
var verdictWords = map[diagnose.Verdict][2]string{
	diagnose.Agrees: {green, "AGREES"}, diagnose.Fault: {red, "FAULT"}, diagnose.Undecided: {yellow, "UNDECIDED"},
}

func (w *writer) verdict(r diagnose.Result) {
	word := verdictWords[r.Verdict]
	lines := w.wrap(strings.TrimPrefix(r.Summary, "Undecided: "), len(word[1])+2)
	w.line(w.paint(bold+";"+word[0], word[1]) + "  " + lines[0])
	for _, l := range lines[1:] {
		w.line(strings.Repeat(" ", len(word[1])+2) + l)
	}
	service := "Service " + r.Service.Name
	if r.Service.Inferred {
		service += " (taken from the voltages; --service declares it)"
	}
	if r.Steps > 0 {
		service += fmt.Sprintf("; %d changes of load used", r.Steps)
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
	w.line(w.row([]string{"channel", "V", "A", "kW", "kvar", "lag °", "state"}, channelWidths))
	for _, c := range r.Channels {
		volts, okV := c.Voltage.Get()
		amps, okA := c.Current.Get()
		watts, okW := c.Power.Get()
		vars, okQ := c.Reactive.Get()
		angle, okT := c.Angle.Get()
		state := stateWords[c.State]
		if c.State != diagnose.StateAgrees {
			state = w.paint(bold, state)
		}
		w.line(w.row([]string{fmt.Sprint(c.Channel), fixed(volts, okV, 1), figures(amps, okA), figures(watts/1000, okW),
			figures(vars/1000, okQ), fixed(float64(angle), okT, 1), state}, channelWidths))
	}
}

// drawing shows the phasors: long rays are voltages, dotted ones currents.
func (w *writer) drawing(r diagnose.Result) {
	rays, apart := raysOf(r)
	if len(rays) == 0 {
		return
	}
	w.line("")
	for _, l := range Phasors(rays, 46, 17, w.ASCII) {
		w.line("      " + l)
	}
	if apart {
		w.item("      ", "Each current against its own voltage (V); the angles between the voltages are not known")
	}
}

// raysOf makes the drawing's rays. Without the angles of the voltages every
// channel stands on one and the same voltage.
func raysOf(r diagnose.Result) (rays []Ray, apart bool) {
	most := 0.0
	for _, c := range r.Channels {
		most = math.Max(most, c.Current.Or(0))
		apart = apart || c.Angle.Known() && !c.VoltageAngle.Known()
	}
	if apart {
		rays = append(rays, Ray{Label: "V", Length: 1})
	}
	for _, c := range r.Channels {
		at := float64(c.VoltageAngle.Or(0))
		if c.VoltageAngle.Known() && !apart {
			rays = append(rays, Ray{Label: fmt.Sprintf("V%d", c.Channel), Degrees: at, Length: 1})
		}
		theta, ok := c.Angle.Get()
		if !ok || c.State == diagnose.StateUnloaded || most == 0 {
			continue
		}
		if apart {
			at = 0
		}
		rays = append(rays, Ray{Label: fmt.Sprintf("I%d", c.Channel), Degrees: at - float64(theta),
			Length: 0.35 + 0.35*c.Current.Or(0)/most, Dotted: true})
	}
	return rays, apart
}

func (w *writer) dataFaults(r diagnose.Result) {
	if len(r.DataFaults) == 0 {
		return
	}
	w.head("The readings themselves look wrong")
	for _, d := range r.DataFaults {
		w.item("  - ", fmt.Sprintf("%s: %s; %s", d.Point, d.Fault, d.Mend))
	}
}

func (w *writer) cautions(r diagnose.Result) {
	if len(r.Cautions) == 0 || r.Verdict == diagnose.Agrees {
		return // nothing is to be touched
	}
	w.head("Before anything is touched")
	for _, c := range r.Cautions {
		w.item("  ! ", c)
	}
}

// steps says what to move and what should be read then.
func (w *writer) steps(r diagnose.Result) {
	if r.Verdict != diagnose.Fault || len(r.Explanations) == 0 || len(r.Explanations[0].Moves) == 0 {
		return
	}
	x := r.Explanations[0]
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
		watts, okW := e.Power.Get()
		angle, okT := e.Angle.Get()
		w.line(w.row([]string{fmt.Sprint(e.Channel), figures(watts/1000, okW) + " kW", "lag " + fixed(float64(angle), okT, 1) + "°"}, []int{7, 12, 16}))
	}
}

func (w *writer) registration(x diagnose.Explanation) {
	best, ok := x.Registration.Get()
	if !ok {
		return
	}
	w.head("Registration as found")
	w.item("  ", fmt.Sprintf("%.3f of the true power at this load, between %.3f and %.3f. Over a billing period the load varies; "+
		"adjusting bills is for those the law names.", best, x.RegistrationLow.Or(best), x.RegistrationHigh.Or(best)))
}

func (w *writer) tests(r diagnose.Result) {
	if len(r.NextTests) == 0 {
		return
	}
	w.head("The test that would settle most")
	for i, t := range r.NextTests[:min(3, len(r.NextTests))] {
		w.item(fmt.Sprintf("  %d. ", i+1), fmt.Sprintf("%s (worth %.2f bit)", t.Ask, t.GainBits))
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

func (w *writer) limits(r diagnose.Result) {
	if len(r.Limits) == 0 {
		return
	}
	w.head("What the meter can't know")
	for _, l := range r.Limits {
		w.item("  - ", l)
	}
}
