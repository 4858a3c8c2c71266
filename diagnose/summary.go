package diagnose

import (
	"fmt"
	"math"
	"strings"

	"legwork/diagnose/internal/advice"
	"legwork/diagnose/internal/infer"
	"legwork/diagnose/internal/prior"
	"legwork/diagnose/internal/verdict"
)

// summary is one sentence.
func (j *judgement) summary() string {
	words := j.wiringSummary()
	if !neutralSaid(j.Judgement) {
		return sentence(words)
	}
	danger := sentence(neutralWords(j.Judgement)) + "."
	if b, _ := j.Leads(); b != nil && j.Stops() {
		return danger // a map or a setting that would make such voltages is told from it later
	}
	return danger + " " + sentence(words)
}

// wiringSummary is what is said of the wiring.
func (j *judgement) wiringSummary() string {
	if j.mixture.shows != "" {
		return fmt.Sprintf("The readings are of two meters, or the wiring was changed between them: %s.", j.mixture.brief)
	}
	if j.Unpowered() {
		return unpoweredWords(j.Carries())
	}
	b, g := j.Leads()
	if b != nil {
		return fmt.Sprintf("%s (%s).", inWords(j.Judgement, b).words, percent(b.P))
	}
	if g == nil || !g.AnyJudged() && j.Verdict != Fault && !g.AnySevere() {
		if lacks := j.lackWords(); lacks != "" {
			return sentence(lacks) + "."
		}
		return "No channel carries enough current, on a live input, to be judged."
	}
	p := percent(g.Weight)
	if j.Strange && !j.Stops() {
		return "the voltages fit no service: which one it is isn't known."
	}
	if j.CauseOf(g) == CauseService {
		return fmt.Sprintf("the voltages fit the service %s, not %s, which is declared (%s).", g.Service.Name, j.Declared.Name, p)
	}
	words := j.groupWords(g)
	if why := j.withheld(); j.Verdict != Fault && len(why) > 0 {
		return fmt.Sprintf("%s; beyond that the likeliest is that %s (%s).", why[0], words, p)
	}
	if lean, odd := j.oddLean(g); odd {
		return lean
	}
	switch {
	case j.Verdict == Agrees:
		return fmt.Sprintf("The wiring agrees with the readings: %s (%s).", words, percent(j.RightShare()))
	case j.Verdict == Fault && neutralSaid(j.Judgement) && g.Right(), j.Verdict == Undecided && g.Weight >= j.Decide && neutralSaid(j.Judgement):
		return fmt.Sprintf("Beyond that, %s (%s).", words, p)
	case j.Verdict == Fault && g.Weight < j.Decide:
		return fmt.Sprintf("A voltage input is at fault; the likeliest is that %s (%s).", words, p)
	case j.Verdict == Fault:
		return fmt.Sprintf("%s (%s)%s.", words, p, j.twinWords())
	case g.Weight >= j.Decide && !g.AllJudged():
		return fmt.Sprintf("%s (%s), but %s.", words, p, j.openWords())
	}
	return fmt.Sprintf("the likeliest is that %s (%s).", words, p)
}

// unpoweredWords says why no input reads any voltage.
func unpoweredWords(current bool) string {
	if current {
		return "no input reads any voltage while current flows: the reference breaker, its fuses or its neutral lead is open; " +
			"or the map reads other registers than its voltages."
	}
	return "no input reads any voltage, and no current flows: the supply is off, or the reference breaker and the loads are."
}

// oddLag is the lag of every leg from which on a panel isn't an ordinary one. Our choice,
// by the load model: idle motors alone lag so far.
const oddLag = 65.0

// oddLean says, of legs that all lead or all lag far under loads that nobody declared,
// what would make them so: right wiring isn't the plain answer then.
func (j *judgement) oddLean(g *infer.Group) (words string, odd bool) {
	if j.Verdict != Undecided || !g.Right() || j.DeclaredWell(CauseLoad) {
		return "", false
	}
	sum, n := 0.0, 0.0
	for k := range g.Service.Channels() {
		o := &g.Of.Observed[k]
		if !o.Loaded || o.N == 0 {
			continue
		}
		if o.N > 1 || o.Candidates[0].Theta < oddLag && o.Candidates[0].Theta > -verdict.LeadDegrees ||
			math.Abs(o.Candidates[0].Theta) > 100 {
			return "", false
		}
		sum += o.Candidates[0].Theta
		n++
	}
	mean := sum / n
	if n < 2 || math.Abs(sum) < oddLag*n && mean > 0 {
		return "", false
	}
	how, what := "leads", "a capacitor bank, a UPS or dimmed lighting"
	if mean > 0 {
		how, what = "lags", "idle motors or welders alone"
	}
	right := j.RightShare()
	words = fmt.Sprintf("every leg %s by about %.0f degrees, which ordinary loads don't: either the load is %s (%s)",
		how, math.Abs(mean), what, percent(right))
	for i := range j.Groups {
		if o := &j.Groups[i]; !o.Right() {
			return fmt.Sprintf("%s, or %s (%s).", words, j.groupWords(o), percent(o.Weight)), true
		}
	}
	return words + ", or the wiring is wrong.", true
}

// groupWords says what a group claims, and what is unusual about its loads.
func (j *judgement) groupWords(g *infer.Group) string {
	words := j.tables.phrases.Get(g).Words
	switch j.CauseOf(g) {
	case CauseService:
		return fmt.Sprintf("the service is %s; %s", g.Service.Name, words)
	case CauseGeneration:
		return words + ", and power flows back to the supply"
	case CauseLoad:
		if leans(g) > 0 {
			return words + ", and the load lags far on every leg"
		}
		return words + ", and the load leads on every leg"
	}
	return words
}

// twinWords names what reads alike, in the summary of a fault.
func (j *judgement) twinWords() string {
	g := j.Top()
	twins := g.Twins()
	if len(twins) == 0 {
		return ""
	}
	var alike []string
	for _, m := range twins {
		alike = append(alike, strings.Join(advice.CTWords(prior.ArrangementOf(m.Number, g.Judged), g.Service), "; "))
	}
	return "; from any readings this can't be told from: " + strings.Join(alike, ", or ")
}

func (j *judgement) openWords() string {
	if lacks := j.lackWords(); lacks != "" {
		return lacks
	}
	var unloaded []string
	for k := range j.Service.Channels() {
		if !j.Base().Judged[k] {
			unloaded = append(unloaded, fmt.Sprint(k+1))
		}
	}
	if len(unloaded) == 0 {
		return "not all of it was judged"
	}
	return advice.Plural("channel", unloaded) + " can't be judged"
}

// leans is the side on which the first loaded channel's load stands: above zero behind.
func leans(g *infer.Group) float64 {
	for k := range g.Of.Observed {
		if o := &g.Of.Observed[k]; o.Loaded && o.N > 0 {
			return o.Candidates[0].Theta
		}
	}
	return 0
}
