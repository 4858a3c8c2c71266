package diagnose

import (
	"fmt"
	"strings"

	"legwork/diagnose/internal/advice"
	"legwork/diagnose/internal/infer"
	"legwork/diagnose/internal/prior"
	"legwork/diagnose/wiring"
	"legwork/probe/reading"
)

// judgement is the work on one reading between inference and result.
type judgement struct {
	tables    *Tables
	options   Options
	reading   *reading.Reading
	services  []wiring.Service // what the voltages leave possible
	service   wiring.Service   // the likeliest
	inferred  bool
	channels  []reading.Channel
	posterior infer.Posterior
	groups    []infer.Group
	verdict   Verdict
	faults    []DataFault
	fitting   string  // the service that the voltages fit, where that isn't the declared one
	steps     int     // changes of load that were used
	neutral   float64 // probability that the service's neutral is lost
}

func (j *judgement) top() *infer.Group {
	if len(j.groups) == 0 {
		return nil
	}
	return &j.groups[0]
}

// decide sets the verdict: what the likeliest group says, if it is likely
// enough; a voltage input that is certainly at fault decides by itself.
func (j *judgement) decide() {
	j.verdict = Undecided
	least := j.options.decide()
	if j.fitting != "" {
		return
	}
	if j.neutral >= least {
		j.verdict = Fault
		return
	}
	if j.inputFault() >= least {
		j.verdict = Fault
		return
	}
	g := j.top()
	if g == nil || g.Weight < least || !g.AnyJudged() {
		return
	}
	switch {
	case !g.Right():
		j.verdict = Fault
	case g.AllJudged() && !j.stops():
		j.verdict = Agrees
	}
}

// inputFault is the probability that some voltage input is at fault.
func (j *judgement) inputFault() float64 {
	var p, sum float64
	for _, g := range j.groups {
		sum += g.Weight
		if g.InputsMislanded() || g.AnySevere() {
			p += g.Weight
		}
	}
	if sum == 0 {
		return 0
	}
	return p / sum
}

// state is what channel k shows under the likeliest explanation; unclear where
// neither it nor the channel's own place is likely enough.
func (j *judgement) state(k int) State {
	s := &j.posterior.Observed[k]
	g := j.top()
	if g != nil && (g.State[k] == InputDead || (g.State[k] == InputLow && g.Severe[k] && !g.Judged[k])) {
		return StateNoVoltage
	}
	if s.AmpsKnown && !s.Loaded && s.Amps < j.options.minCurrent() {
		return StateUnloaded
	}
	if g == nil || !g.Judged[k] || j.placeShare(k) < j.options.decide() {
		return StateUnclear
	}
	c := g.Lead()[k]
	crossed := c.Leg != g.Service.HomeLeg(wiring.Channel(k+1))
	switch {
	case crossed && c.Reversed:
		return StateReversedCrossed
	case crossed:
		return StateCrossed
	case c.Reversed:
		return StateReversed
	}
	return StateAgrees
}

// placeShare is the probability that channel k is where the likeliest group
// puts it; the members of one group, which read alike, count together.
func (j *judgement) placeShare(k int) float64 {
	want := j.top().Lead()[k]
	var p, sum float64
	for i := range j.groups {
		g := &j.groups[i]
		sum += g.Weight
		for _, m := range g.Members {
			if i == 0 || (g.Judged[k] && prior.ArrangementOf(m.Number, g.Judged)[k] == want) {
				p += m.Weight
			}
		}
	}
	return p / sum
}

// summary is one sentence.
func (j *judgement) summary() string {
	words := j.wiringSummary()
	switch {
	case !j.neutralSaid():
		return words
	case j.verdict == Undecided:
		return "Undecided: " + j.neutralWords() + ". " + sentence(strings.TrimPrefix(words, "Undecided: "))
	}
	return sentence(j.neutralWords()) + ". " + words
}

// wiringSummary is what is said of the wiring.
func (j *judgement) wiringSummary() string {
	if j.fitting != "" {
		return fmt.Sprintf("Undecided: the voltages fit the service %s, not %s, which is declared.", j.fitting, j.service.Name)
	}
	g := j.top()
	if g == nil || !g.AnyJudged() && j.verdict != Fault {
		return "No channel carries enough current, on a live input, to be judged."
	}
	words := j.tables.phrases.Get(g).Words
	switch j.verdict {
	case Agrees:
		return fmt.Sprintf("The wiring agrees with the readings: %s (%s).", words, percent(g.Weight))
	case Fault:
		if j.neutralSaid() && g.Right() {
			return fmt.Sprintf("Beyond that, %s (%s).", words, percent(g.Weight))
		}
		if g.Weight < j.options.decide() {
			return fmt.Sprintf("A voltage input is at fault; beyond that the likeliest is: %s (%s).", words, percent(g.Weight))
		}
		return fmt.Sprintf("%s (%s)%s.", sentence(words), percent(g.Weight), j.twinWords())
	}
	if g.Weight >= j.options.decide() && j.neutralSaid() {
		return fmt.Sprintf("Beyond that, %s (%s).", words, percent(g.Weight))
	}
	if g.Weight >= j.options.decide() {
		return fmt.Sprintf("Undecided: %s (%s), but %s.", words, percent(g.Weight), j.openWords())
	}
	return fmt.Sprintf("Undecided: the likeliest is that %s (%s).", words, percent(g.Weight))
}

// twinWords names what reads alike, in the summary of a fault.
func (j *judgement) twinWords() string {
	g := j.top()
	if len(g.Members) < 2 {
		return ""
	}
	var alike []string
	for _, m := range g.Members[1:] {
		alike = append(alike, strings.Join(advice.CTWords(prior.ArrangementOf(m.Number, g.Judged), g.Service), "; "))
	}
	return "; from any readings this can't be told from: " + strings.Join(alike, ", or ")
}

func (j *judgement) openWords() string {
	var unloaded []string
	for k := range j.service.Channels() {
		if !j.posterior.Judged[k] {
			unloaded = append(unloaded, fmt.Sprint(k+1))
		}
	}
	if len(unloaded) == 0 {
		return "not all of it was judged"
	}
	return advice.Plural("channel", unloaded) + " can't be judged"
}

// percent rounds a probability so that it never reads as certain.
func percent(p float64) string {
	switch {
	case p >= 0.9995:
		return "over 99.9 %"
	case p >= 0.99:
		return fmt.Sprintf("%.1f %%", p*100)
	case p < 0.01:
		return "under 1 %"
	}
	return fmt.Sprintf("%.0f %%", p*100)
}

func sentence(s string) string { return strings.ToUpper(s[:1]) + s[1:] }
