// Package card shows one meter's verdict as a piece of a page: the sketch, the move, channels, phasors, what to expect after it, what would settle it. The
// survey's page and the desk's are made of it.
//
// It judges nothing, and what comes from outside is escaped by html/template.
package card

import (
	_ "embed" // the template
	"fmt"
	"html/template"

	"legwork/cmd/legwork/internal/report"
	"legwork/cmd/legwork/internal/screen"
	"legwork/cmd/legwork/internal/survey"
	"legwork/diagnose"
)

//go:embed card.html
var source string

//go:embed card.css
var style string

// Style is the style sheet that cards need, with the report's.
func Style() string { return report.Style() + style }

// Template gives a new template set with "card" in it, which takes a Card.
func Template() *template.Template {
	return template.Must(template.New("card").Parse(source)) // it is our own text
}

// Card is a verdict, ready to be shown.
type Card struct {
	Status, Sign string
	Summary      string
	Service      string
	Rows         []report.Row
	Sketches     []report.Drawn
	Drawing      template.HTML
	Caption      string
	DangerHead   string
	Danger       []string // what to do before all else; then there are no steps
	Cautions     []string
	Steps        []string
	LiveWork     bool
	Expect       []report.Row
	Registration string
	Tests        []string
	Others       []string
	DataFaults   []string
}

// Signs are a status beside its word, for those who don't see colours.
var Signs = map[survey.Status]string{survey.Agrees: "✓", survey.Fault: "✗", survey.Undecided: "?",
	survey.Unreadable: "–"}

// Of makes a card of a meter; id is unlike that of any other card on the page.
func Of(m *survey.Meter, id string) Card {
	c := Card{Status: string(m.Status), Sign: Signs[m.Status], Summary: report.Shown(m.Summary)}
	r := m.Verdict
	if r == nil {
		return c
	}
	c.Service = r.Service.Name
	if r.Service.Inferred {
		c.Service += ", inferred from the voltages"
	}
	c.Rows, c.DataFaults = report.Rows(r), screen.FaultWords(r)
	if c.Danger = screen.KeepAway(r); len(c.Danger) > 0 {
		c.DangerHead = screen.KeepAwayHead
	} else {
		c.Sketches = report.Sketches(r, id+"-sketch")
	}
	c.Drawing, c.Caption = report.Phasors(r, id, m.Name)
	c.advise(r)
	return c
}

// mostTests are shown.
const mostTests = 3

func (c *Card) advise(r *diagnose.Result) {
	if r.Verdict != diagnose.Agrees {
		for _, t := range r.NextTests[:min(mostTests, len(r.NextTests))] {
			c.Tests = append(c.Tests, t.Ask)
		}
	}
	if r.Verdict == diagnose.Agrees || len(r.Explanations) == 0 {
		return
	}
	if len(r.Explanations) > 1 { // one alone is the verdict
		for _, x := range r.Explanations {
			c.Others = append(c.Others, fmt.Sprintf("%.1f %%: %s", 100*x.Probability, x.Words))
		}
	}
	x := r.Explanations[0]
	if r.Verdict != diagnose.Fault || r.KeepAway {
		return
	}
	if len(x.Moves) > 0 {
		c.Cautions, c.Steps, c.LiveWork = r.Cautions, x.Moves[0].Steps, x.Moves[0].LiveWork
		for _, e := range x.Expect {
			c.Expect = append(c.Expect, report.Row{Channel: e.Channel, Watts: screen.Amount(e.Power, 1000),
				Lag: screen.Plain(e.Angle, 1)})
		}
	}
	if g, known := x.Registration.Get(); known {
		c.Registration = fmt.Sprintf("%.3f of the true power at this load, between %.3f and %.3f.", g,
			x.RegistrationLow.Or(g), x.RegistrationHigh.Or(g))
	}
}
