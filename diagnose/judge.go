package diagnose

import (
	"fmt"
	"math"
	"math/cmplx"
	"strings"

	"legwork/diagnose/internal/advice"
	"legwork/diagnose/internal/evidence"
	"legwork/diagnose/internal/infer"
	"legwork/diagnose/internal/prior"
	"legwork/diagnose/wiring"
	"legwork/probe/reading"
)

// judgement is the work on one reading between inference and result.
type judgement struct {
	tables   *Tables
	options  Options
	reading  *reading.Reading
	services []wiring.Service // what the voltages leave possible
	service  wiring.Service   // the likeliest
	inferred bool
	channels []reading.Channel
	declared wiring.Service  // unless inferred
	rivals   bool            // other services than the declared one were weighed
	worlds   []infer.Weighed // the ordinary one first
	groups   []infer.Group
	misread  evidence.Misread
	blamed   []blamed // what isn't of conductors or loads, the likeliest first
	verdict  Verdict
	faults   []DataFault
	currents []DataFault // of those, what contradicts the channels' currents
	causes   tally
	steps    int     // changes of load that were used
	neutral  float64 // probability that the service's neutral is lost
	mixed    mixture // why the readings aren't of one meter with one wiring; zero where they may be
}

// base is the ordinary world: what the channels show is the same in all.
func (j *judgement) base() *infer.Posterior { return &j.worlds[0].Posterior }

func (j *judgement) top() *infer.Group {
	if len(j.groups) == 0 {
		return nil
	}
	return &j.groups[0]
}

// state is what channel k shows under the likeliest explanation; unclear where
// neither it nor the channel's own place is likely enough.
func (j *judgement) state(k int) State {
	s := &j.base().Observed[k]
	b, g := j.leads()
	switch {
	case j.mixed.shows != "", b != nil && b.cause == CauseMap, g != nil && j.causeOf(g) == CauseService:
		return StateUnclear
	case b != nil:
		g = j.top()
	}
	if g != nil && g.State[k] == InputDead {
		if j.voltage(k, g) > noVoltage {
			return StateUnclear // it is dead in another world, or was before
		}
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
	case g.Severe[k] || g.State[k] == InputShared || j.voltageOff(k, g):
		return StateUnclear // its CT is where it belongs, and its voltage isn't what it should be
	case j.channels[k].Power.Or(0) < 0 && !j.options.declaredWell(j.causeOf(g)):
		return StateUnclear // power that flows back, which nobody has spoken of
	}
	return StateAgrees
}

// Bounds of a channel's own voltage over what its input should read, for its state: the
// same as for a severe input, and for a dead one with room for what is induced.
const (
	noVoltage   = 0.15
	leastOfHome = 0.8
	mostOfHome  = 1.2
)

// voltage is that of a channel over what its input should read when it is wired right; 1
// where it isn't known.
func (j *judgement) voltage(k int, g *infer.Group) float64 {
	q, _ := g.Sequence()
	home := cmplx.Abs(g.Service.InputPhasors(q)[k]) * g.Service.Nominal
	if home <= 0 {
		return 1
	}
	return j.channels[k].Voltage.Map(func(v float64) float64 { return math.Abs(v) / home }).Or(1)
}

// voltageOff reports a channel whose voltage isn't its leg's: by itself, or since the
// neutral that all inputs share is exchanged with a leg.
func (j *judgement) voltageOff(k int, g *infer.Group) bool {
	for i := range g.Service.Channels() {
		if g.State[i] == InputNeutralCrossed {
			return true
		}
	}
	v := j.voltage(k, g)
	return v < leastOfHome || v > mostOfHome
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
	if !j.neutralSaid() {
		return sentence(words)
	}
	return sentence(j.neutralWords()) + ". " + sentence(words)
}

// wiringSummary is what is said of the wiring.
func (j *judgement) wiringSummary() string {
	if j.mixed.shows != "" {
		return fmt.Sprintf("The readings are of two meters, or the wiring was changed between them: %s.", j.mixed.brief)
	}
	b, g := j.leads()
	if b != nil {
		return fmt.Sprintf("%s (%s).", b.words, percent(b.p))
	}
	if g == nil || !g.AnyJudged() && j.verdict != Fault && !g.AnySevere() {
		return "No channel carries enough current, on a live input, to be judged."
	}
	p := percent(g.Weight)
	if j.causeOf(g) == CauseService {
		return fmt.Sprintf("the voltages fit the service %s, not %s, which is declared (%s).", g.Service.Name, j.declared.Name, p)
	}
	words := j.groupWords(g)
	if lean, odd := j.oddLean(g); odd {
		return lean
	}
	switch {
	case j.verdict == Agrees:
		return fmt.Sprintf("The wiring agrees with the readings: %s (%s).", words, percent(j.rightShare()))
	case j.verdict == Fault && j.neutralSaid() && g.Right(), j.verdict == Undecided && g.Weight >= j.options.decide() && j.neutralSaid():
		return fmt.Sprintf("Beyond that, %s (%s).", words, p)
	case j.verdict == Fault && g.Weight < j.options.decide():
		return fmt.Sprintf("A voltage input is at fault; beyond that the likeliest is: %s (%s).", words, p)
	case j.verdict == Fault:
		return fmt.Sprintf("%s (%s)%s.", words, p, j.twinWords())
	case g.Weight >= j.options.decide() && !g.AllJudged():
		return fmt.Sprintf("%s (%s), but %s.", words, p, j.openWords())
	}
	return fmt.Sprintf("the likeliest is that %s (%s).", words, p)
}

// oddLag is the lag of every leg from which on a panel isn't an ordinary one. Our choice,
// by the load model: idle motors alone lag so far.
const oddLag = 65.0

// oddLean says, of legs that all lead or all lag far under loads that nobody declared,
// what would make them so: right wiring isn't the plain answer then.
func (j *judgement) oddLean(g *infer.Group) (words string, odd bool) {
	if j.verdict != Undecided || !g.Right() || j.options.declaredWell(CauseLoad) {
		return "", false
	}
	sum, n := 0.0, 0.0
	for k := range g.Service.Channels() {
		o := &g.Of.Observed[k]
		if !o.Loaded || o.N == 0 {
			continue
		}
		if o.N > 1 || o.Candidates[0].Theta < oddLag && o.Candidates[0].Theta > -leadDegrees ||
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
	right := j.rightShare()
	words = fmt.Sprintf("every leg %s by about %.0f degrees, which ordinary loads don't: either the load is %s (%s)",
		how, math.Abs(mean), what, percent(right))
	for i := range j.groups {
		if o := &j.groups[i]; !o.Right() {
			return fmt.Sprintf("%s, or %s (%s).", words, j.groupWords(o), percent(o.Weight)), true
		}
	}
	return words + ", or the wiring is wrong.", true
}

// groupWords says what a group claims, and what is unusual about its loads.
func (j *judgement) groupWords(g *infer.Group) string {
	words := j.tables.phrases.Get(g).Words
	switch j.causeOf(g) {
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
	g := j.top()
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
	var unloaded []string
	for k := range j.service.Channels() {
		if !j.base().Judged[k] {
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

// leans is the side on which the first loaded channel's load stands: above zero behind.
func leans(g *infer.Group) float64 {
	for k := range g.Of.Observed {
		if o := &g.Of.Observed[k]; o.Loaded && o.N > 0 {
			return o.Candidates[0].Theta
		}
	}
	return 0
}
