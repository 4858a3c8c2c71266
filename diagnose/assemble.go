package diagnose

import (
	"legwork/diagnose/wiring"
	"legwork/probe/reading"
)

// mostExplanations is how many are shown; what is less likely than the last is
// in the probabilities' missing rest.
const mostExplanations = 6

// result puts the judgement into the shape that is shown.
func (j *judgement) result() Result {
	r := Result{
		Legwork:      ResultVersion,
		At:           j.reading.At,
		Service:      ServiceJudged{Name: j.service.Name, Inferred: j.inferred},
		Verdict:      j.verdict,
		Summary:      j.summary(),
		Channels:     make([]ChannelJudged, 0, j.service.Channels()),
		Explanations: []Explanation{},
		NextTests:    []NextTest{},
		DataFaults:   append([]DataFault{}, j.faults...),
		Cautions:     j.cautions(),
		Limits:       j.limits(),
		Steps:        j.steps,
	}
	for k := range min(j.service.Channels(), len(j.channels)) {
		r.Channels = append(r.Channels, j.channel(k))
	}
	for i := range j.groups[:min(len(j.groups), mostExplanations)] {
		g := &j.groups[i]
		if i > 0 && g.weight < 0.005 {
			break
		}
		r.Explanations = append(r.Explanations, j.explanation(g))
	}
	if j.unsettled() {
		r.NextTests = j.nextTests()
	}
	return r
}

// unsettled reports whether a test would tell something that matters.
func (j *judgement) unsettled() bool {
	return j.verdict == Undecided || j.verdict == Fault && (len(j.top().members) > 1 || j.top().weight < j.options.decide())
}

func (j *judgement) channel(k int) ChannelJudged {
	c := j.channels[k]
	out := ChannelJudged{Channel: k + 1, State: j.state(k), Voltage: c.Voltage, Current: c.Current,
		Power: c.Power, Reactive: c.Reactive, VoltageAngle: c.VoltageAngle}
	if s := &j.posterior.now[k]; s.n == 1 {
		out.Angle = reading.Known(reading.Angle(s.candidates[0].theta))
	} else if a, ok := measuredAngle(c); ok {
		out.Angle = reading.Known(a)
	}
	return out
}

func (j *judgement) explanation(g *group) Explanation {
	flows := j.posterior.flows(g)
	said := modelOf(g.service).phrases.get(g)
	x := Explanation{Probability: min(g.weight, 1), Words: said.words, CT: placed(g.lead(), g.service), Twins: [][]CTPlaced{},
		Sequence: g.sequence(), Moves: []Move{}, Expect: []ChannelAfter{}}
	if len(g.members) > 1 {
		x.Twins = make([][]CTPlaced, 0, len(g.members)-1)
	}
	for _, m := range g.members[1:] {
		x.Twins = append(x.Twins, placed(arrangementOf(m.number, g.judged), g.service))
	}
	x.Voltage = make([]InputJudged, 0, g.service.Channels())
	for k := range g.service.Channels() {
		x.Voltage = append(x.Voltage, InputJudged{k + 1, g.state[k]})
	}
	x.Registration, x.RegistrationLow, x.RegistrationHigh = j.posterior.registration(g, flows)
	if j.stops() {
		x.Moves = keepAway()
		return x
	}
	if said.moves != nil {
		x.Moves = said.moves
		x.Expect = j.posterior.expected(g, flows)
	}
	return x
}

// sequenceShare is the share of one sequence at which it counts as known.
const sequenceShare = 0.98

// sequence names the order of the inputs, where the readings tell it and the
// service has one.
func (g *group) sequence() *string {
	if len(g.service.Sequences()) < 2 {
		return nil
	}
	sum := g.by[0] + g.by[1]
	for i, q := range []wiring.Sequence{wiring.Forward, wiring.Backward} {
		if sum > 0 && g.by[i] >= sequenceShare*sum {
			name := q.String()
			return &name
		}
	}
	return nil
}

func placed(a wiring.Arrangement, s wiring.Service) []CTPlaced {
	all := make([]CTPlaced, s.Channels())
	leg, reversed := new([3]int), new([3]bool)
	for k := range all {
		all[k].Channel = k + 1
		if c := a[k]; c.Leg != wiring.NoLeg {
			leg[k], reversed[k] = int(c.Leg), c.Reversed
			all[k].Leg, all[k].Reversed = &leg[k], &reversed[k]
		}
	}
	return all
}

// limits says what these readings can't tell.
func (j *judgement) limits() []string {
	var all []string
	if len(j.services) > 1 {
		all = append(all, "The service was taken to be "+j.service.Name+"; the readings fit "+j.services[1].Name+" too: declare it")
	}
	if g := j.top(); g != nil && g.anyJudged() && len(j.service.Sequences()) == 2 && g.sequence() == nil {
		all = append(all, "The sequence of the voltages isn't known: the meter gives no angles of the voltages")
	}
	if g := j.top(); !j.options.Generation && g != nil && len(reversedChannels(g.lead())) > 0 {
		all = append(all, "Power that flows back from generation reads as reversed CTs: with any here, say --generation possible")
	}
	if j.service.Channels() > 1 {
		all = append(all, "Voltage inputs and CTs exchanged alike only change the names of the legs: the energy is right, and a phase test alone shows it")
	}
	return append(all,
		"A reversed voltage input, or a setting turned over in the meter, reads like a reversed CT",
		"A CT round part of its conductor, round two conductors or not closed shows only against a clamp ammeter")
}
