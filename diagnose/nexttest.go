package diagnose

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"legwork/diagnose/internal/trial"
	"legwork/diagnose/internal/verdict"
	"legwork/diagnose/wiring"
)

// nextTests lists what would settle most, for the time it takes: first the questions
// that a person answers in a word, then tests. There is at least one where the
// verdict is open.
func (j *judgement) nextTests() []NextTest {
	tests := []NextTest{}
	if j.Stops() {
		return append(tests, j.blames()...) // else nothing but keeping away
	}
	if j.mixture.shows != "" {
		return append(tests, NextTest{Test: "capture", Ask: sentence(partIt)})
	}
	if j.Unpowered() {
		ask := "Have the reference breaker and the supply switched on by those qualified, load on, and read again"
		if j.Inferred {
			ask += "; if they are on, see how the map reads the voltages, and say --service"
		}
		return append(tests, NextTest{Test: "supply", GainBits: 1, Ask: ask})
	}
	if j.Verdict == Undecided {
		tests = append(tests, j.questions()...)
	}
	if j.unsettled() && !j.ledByWords() {
		site := trial.Site{Service: j.Service, Worlds: j.Worlds}
		for k := range min(len(j.Reading.Channels), len(site.MaybeOpen)) {
			site.MaybeOpen[k] = j.Silent(k)
		}
		decide := j.Decide
		if j.PolarityOpen() {
			decide = math.Inf(1) // however likely it is, how the CTs are turned isn't decided
		}
		for _, t := range trial.Rank(site, j.Top(), decide, j.Findings) {
			tests = append(tests, NextTest{string(t.Test), optional(t.Channel), optional(t.Leg), t.Bits, t.Ask})
		}
	}
	if j.Verdict == Undecided && len(tests) == 0 {
		tests = append(tests, NextTest{Test: "more-readings", Ask: "Read on while loads come and go: `legwork watch METER`; each change of load is new evidence"})
	}
	return tests
}

// unsettled reports whether a test would tell something that matters.
func (j *judgement) unsettled() bool {
	return j.Verdict == Undecided || j.Verdict == Fault && j.Top() != nil && (len(j.Top().Twins()) > 0 || j.Top().Weight < j.Decide)
}

// ledByWords reports that a setting, the map or the service comes before any test in the panel.
func (j *judgement) ledByWords() bool {
	b, g := j.Leads()
	return b != nil || j.Strange || g != nil && j.CauseOf(g) == CauseService
}

// questions are what a person answers in a word, and what needs no test: in the order
// of their worth.
func (j *judgement) questions() []NextTest {
	all := j.blames()
	for _, f := range j.Contradicting() {
		all = append(all, NextTest{Test: string(f.Test), Channel: optional(f.Channel), Leg: optional(f.Leg), GainBits: 1,
			Ask: fmt.Sprintf("Repeat the test that came out as %q, and leave it out if it was a slip: the readings contradict it", f)})
	}
	add := func(test string, p float64, ask string) {
		all = append(all, NextTest{Test: test, GainBits: entropy(p), Ask: ask})
	}
	t := j.Causes
	if j.Strange {
		add("service", 0.5, "Which service is it? See the transformer or the panel's label, and say --service; "+
			"see too that the reference breaker is on, and how the map scales the voltages")
	}
	if t[CauseService] >= verdict.MostHarm || j.UnusedCurrent() > 0 {
		add("service", t[CauseService], j.serviceQuestion())
	}
	wrong := t[CauseWiring] - j.plainRight()
	if t[CauseGeneration] >= verdict.MostHarm && !(j.Generation == GenerationPossible && wrong < verdict.MostHarm) {
		ask := "Is there solar, a battery or a generator here? Say --generation none or --generation possible, " +
			"or have it switched off by those who run it and read again"
		if j.Generation == GenerationPossible {
			ask = "Have what generates switched off by those who run it and read again"
		}
		add("generation", t[CauseGeneration], ask)
	}
	if t[CauseLoad] >= verdict.MostHarm {
		add("load", t[CauseLoad], j.loadQuestion())
	}
	for k := range min(j.Service.Channels(), len(j.Reading.Channels)) {
		s := &j.Base().Observed[k]
		if s.AmpsKnown && s.Amps < j.MinCurrent && !j.Silent(k) {
			leg := int(j.Service.HomeLeg(wiring.Channel(k + 1)))
			all = append(all, NextTest{Test: "load-on", Channel: optional(k + 1), Leg: optional(leg), GainBits: 1,
				Ask: fmt.Sprintf("Put more than %g A on leg %d and read again", j.MinCurrent, leg)})
		}
	}
	if f, misfit := j.energyMisfit(); misfit {
		add("map", 0.5, energyAsk(f))
	}
	if j.Unmeasured {
		add("map", 0.5, sentence(unmeasuredMend)+", and read again")
	}
	if j.Late {
		add("map", 0.5, lateAsk)
	}
	if t, lacks := j.lackQuestion(); lacks {
		all = append(all, t)
	}
	all = append(append(all, j.unsteadyQuestions()...), j.spoiltQuestion()...)
	for _, k := range j.MaybeOpen() {
		leg := int(j.Service.HomeLeg(wiring.Channel(k)))
		all = append(all, NextTest{Test: "silent-ct", Leg: optional(leg), GainBits: 1,
			Ask: fmt.Sprintf("Is anything on at leg %d? If so CT %d reads nothing of it: have the load taken off, and its "+
				"leads and shorting block looked at by those qualified. If not, have a load put on there only "+
				"once CT %d is known not to be open", leg, k,
				k)})
	}
	first := 0 // what leads comes first whatever it is worth: all else supposes it settled
	for first < len(all) && (Cause(all[first].Test) == CauseMap || Cause(all[first].Test) == CauseService ||
		Cause(all[first].Test) == CauseSettings || first < len(j.Blamed) && all[first].Test == string(wiring.VoltageTest)) {
		first++
	}
	slices.SortStableFunc(all[first:], func(a, b NextTest) int { return cmp.Compare(b.GainBits, a.GainBits) })
	return all
}

// blames are the questions of what is wrong outside the panel: a map or a setting.
func (j *judgement) blames() (all []NextTest) {
	if j.Verdict != Undecided {
		return nil
	}
	for i := range j.Blamed {
		if b := &j.Blamed[i]; b.P >= verdict.MostHarm {
			test := string(b.Cause)
			if b.Open {
				test = string(wiring.VoltageTest)
			}
			all = append(all, NextTest{Test: test, GainBits: entropy(b.P), Ask: inWords(j.Judgement, b).ask})
		}
	}
	return all
}

// loadQuestion asks for what would make the whole panel lead, or lag.
func (j *judgement) loadQuestion() string {
	for i := range j.Groups {
		if g := &j.Groups[i]; j.CauseOf(g) == CauseLoad && leans(g) > 0 {
			return "Are idle motors or welders all that is on? Say --load motors, or put other loads on and read again"
		}
	}
	return "Is there a capacitor bank, a UPS or dimmed lighting behind this meter? Say --load capacitors, --load lighting or what is there, " +
		"or have it switched off by those who run it and read again"
}

// plainRight is the probability of right wiring under an ordinary load.
func (j *judgement) plainRight() (p float64) {
	for i := range j.Groups {
		if g := &j.Groups[i]; g.Right() && j.CauseOf(g) == CauseWiring {
			p += g.Weight
		}
	}
	return p
}

func (j *judgement) serviceQuestion() string {
	best := ""
	var most float64
	for i := range j.Groups {
		if g := &j.Groups[i]; j.CauseOf(g) == CauseService && g.Weight > most {
			best, most = g.Service.Name, g.Weight
		}
	}
	if best == "" {
		return fmt.Sprintf("Which service is it? A channel that %s has no use for carries current: say it with --service", j.Declared.Name)
	}
	return fmt.Sprintf("Which service is it? %s is declared, and the voltages fit %s: see the transformer or the panel's label, and say --service %s if so",
		j.Declared.Name, best, best)
}

// entropy is that, in bits, of yes and no.
func entropy(p float64) float64 {
	if p <= 0 || p >= 1 {
		return 0
	}
	return math.Round(-1000*(p*math.Log2(p)+(1-p)*math.Log2(1-p))) / 1000
}

func optional(n int) *int {
	if n == 0 {
		return nil
	}
	return &n
}
