package diagnose

import (
	"cmp"
	"slices"

	"legwork/diagnose/internal/advice"
	"legwork/diagnose/internal/flow"
	"legwork/diagnose/internal/infer"
	"legwork/diagnose/internal/prior"
	"legwork/diagnose/internal/verdict"
	"legwork/diagnose/wiring"
)

// result puts the judgement into the shape that is shown.
func (j *judgement) result() Result {
	r := Result{
		Legwork:      ResultVersion,
		At:           j.Reading.At,
		Service:      ServiceJudged{Name: j.Service.Name, Inferred: j.Inferred},
		Verdict:      j.Verdict,
		Summary:      j.summary(),
		Channels:     make([]ChannelJudged, 0, j.Service.Channels()),
		Explanations: []Explanation{},
		NextTests:    []NextTest{},
		DataFaults:   j.dataFaults(),
		KeepAway:     j.Stops(),
		Cautions:     j.cautions(),
		Limits:       j.limits(),
		Steps:        j.Steps,
	}
	for k := range min(j.Service.Channels(), len(j.Reading.Channels)) {
		r.Channels = append(r.Channels, j.channel(k))
	}
	r.Explanations, r.Expect = j.explanations(r.Channels)
	r.NextTests = j.nextTests()
	r.Notes = j.notes()
	return r
}

// explanations lists them, the likeliest first, and what they all lead to expect.
func (j *judgement) explanations(now []ChannelJudged) (all []Explanation, expect []ChannelAfter) {
	all = []Explanation{}
	for i := range j.Groups[:min(len(j.Groups), mostExplanations)] {
		g := &j.Groups[i]
		if i > 0 && g.Weight < remains {
			break
		}
		all = append(all, j.explanation(g))
	}
	for i := range j.Blamed {
		if b := &j.Blamed[i]; b.P >= remains {
			all = append(all, j.blamedExplanation(b))
		}
	}
	slices.SortStableFunc(all, func(a, b Explanation) int { return cmp.Compare(b.Probability, a.Probability) })
	expect = j.expected(all, now)
	for i := range all {
		if !j.Stops() && j.Verdict != Fault || j.mixture.shows != "" { // what isn't decided moves nothing
			all[i].Moves = []Move{}
		}
		if j.harmful() || j.mixture.shows != "" {
			all[i].Expect = []ChannelAfter{}
		}
	}
	return all, expect
}

// harmful reports that a move would be wrong in a world that is likely enough.
func (j *judgement) harmful() bool {
	return !j.Stops() && j.Verdict != Fault && (j.Causes.Harms() || j.Strange)
}

// blamedExplanation speaks of no conductor: the wiring isn't known until it is mended.
func (j *judgement) blamedExplanation(b *verdict.Blamed) Explanation {
	said := inWords(j.Judgement, b)
	x := Explanation{Probability: b.P, Cause: b.Cause, Words: said.words, Mends: said.mends, CT: placed(wiring.Arrangement{}, j.Service),
		Twins: [][]CTPlaced{}, Voltage: []InputJudged{}, Moves: []Move{}, Expect: []ChannelAfter{}}
	if g := j.Top(); b.Cause == CauseSettings && g != nil {
		x.CT, x.Voltage, x.Sequence = placed(g.Lead(), g.Service), inputsOf(g), sequenceName(g)
	}
	return x
}

func inputsOf(g *infer.Group) []InputJudged {
	all := make([]InputJudged, 0, g.Service.Channels())
	for k := range g.Service.Channels() {
		all = append(all, InputJudged{k + 1, g.State[k], g.Severe[k]})
	}
	return all
}

func (j *judgement) explanation(g *infer.Group) Explanation {
	flows := flow.Flows(g)
	said := j.tables.phrases.Get(g)
	x := Explanation{Probability: min(g.Weight, 1), Cause: j.CauseOf(g), Words: j.groupWords(g), CT: placed(g.Lead(), g.Service), Twins: [][]CTPlaced{},
		Sequence: sequenceName(g), Moves: []Move{}, Expect: []ChannelAfter{}}
	if g.WayOpen() {
		for k := range x.CT {
			if x.CT[k].On != "" {
				x.CT[k].Reversed = nil
			}
		}
	}
	for _, m := range g.Twins() {
		x.Twins = append(x.Twins, placed(prior.ArrangementOf(m.Number, g.Judged), g.Service))
	}
	x.Voltage = inputsOf(g)
	x.Registration, x.RegistrationLow, x.RegistrationHigh = flow.Registration(g, flows)
	if x.Cause == CauseService {
		x.Service = g.Service.Name
	}
	if j.Stops() {
		x.Moves = advice.KeepAway()
		return x
	}
	if x.Cause != CauseWiring {
		return x
	}
	if said.Moves != nil {
		x.Moves = said.Moves
		for k, after := range flow.Expected(g, flows) {
			x.Expect = append(x.Expect, ChannelAfter{k + 1, after.Power, after.Angle})
		}
	}
	return x
}

// sequenceName is ABC or ACB, nil where the readings don't tell.
func sequenceName(g *infer.Group) *string {
	q, ok := g.Sequence()
	if !ok {
		return nil
	}
	name := q.String()
	return &name
}

// limits says what these readings can't tell.
func (j *judgement) limits() []string {
	var all []string
	if len(j.Services) > 1 {
		all = append(all, "The service was taken to be "+j.Service.Name+"; the readings fit "+j.Services[1].Name+" too: declare it")
	}
	if g := j.Top(); g != nil && g.AnyJudged() && len(j.Service.Sequences()) == 2 && sequenceName(g) == nil {
		all = append(all, "The sequence of the voltages isn't known: the meter gives no angles of the voltages")
	}
	if j.Service.Channels() > 1 {
		all = append(all, "Voltage inputs and CTs exchanged alike only change the names of the legs: the energy is right, and a phase test alone shows it")
	}
	return append(all,
		"A reversed voltage input, or a setting turned over in the meter, reads like a reversed CT",
		"A CT round part of its conductor, round two conductors or not closed shows only against a clamp ammeter",
		"A CT ratio that is set wrong for all channels alike shows only against a clamp ammeter, the CTs' plates or the pulses")
}

// dataFaults lists what was read and can't be.
func (j *judgement) dataFaults() []DataFault {
	all := []DataFault{}
	for _, f := range j.Faults {
		all = append(all, dataFault(f))
	}
	for _, f := range j.Currents {
		all = append(all, currentFault(f))
	}
	if j.mixture.shows != "" {
		all = append(all, DataFault{Point: "at", Fault: j.mixture.shows, Mend: partIt})
	}
	return all
}
