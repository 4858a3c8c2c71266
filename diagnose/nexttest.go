package diagnose

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"legwork/diagnose/wiring"
)

// trial is a test that a technician can make. A hypothesis gives each of its
// outcomes, which are told by a key, a probability.
type trial struct {
	test    string
	channel int // 0 for none
	leg     int // 0 for none
	ask     string
	minutes float64
	live    bool // brings hands or probes near live parts
	outcome func(h *hypothesis) outcomes
}

// outcomes are the ways in which a test can come out: at most one for each
// choice of up or down on three channels.
type outcomes struct {
	n   int
	all [8]struct {
		key int
		p   float64
	}
}

// add counts one more way.
func (o *outcomes) add(key int, p float64) {
	if p > 0 {
		o.all[o.n].key, o.all[o.n].p = key, p
		o.n++
	}
}

// sure is a test whose outcome a hypothesis tells for certain.
func sure(key func(h *hypothesis) int) func(h *hypothesis) outcomes {
	return func(h *hypothesis) (o outcomes) {
		o.add(key(h), 1)
		return o
	}
}

// hypothesis is one arrangement under one frame, with its weight.
type hypothesis struct {
	frame  *frame
	digit  [3]int // -1 where not judged
	weight float64
}

// claims reports whether two hypotheses say the same of what a person would
// mend: of where the CTs are and of the inputs. Of which sequence it is, or
// which service, only what follows for those counts.
func (h *hypothesis) claims(o *hypothesis) bool {
	return h.digit == o.digit && h.frame.state == o.frame.state
}

// hypotheses lists what is worth telling apart.
func (p *posterior) hypotheses() []hypothesis {
	var all []hypothesis
	for f := range p.frames {
		judged := unpack(p.judgedUnder(&p.frames[f]))
		for a, w := range p.weights[f] {
			if w < leastGroup/4 {
				continue
			}
			all = append(all, hypothesisOf(&p.frames[f], a, judged, w))
		}
	}
	return all
}

func hypothesisOf(f *frame, number int, judged [3]bool, weight float64) hypothesis {
	h := hypothesis{f, digitsOf(number), weight}
	for k := range h.digit {
		if !judged[k] {
			h.digit[k] = -1
		}
	}
	return h
}

// entropy of weights, in bits.
func entropy(weights []float64) float64 {
	var sum, h float64
	for _, w := range weights {
		sum += w
	}
	for _, w := range weights {
		if w > 0 {
			h -= w / sum * math.Log2(w/sum)
		}
	}
	return h
}

// gain is the expected drop of entropy over what the hypotheses claim, in bits:
// the entropy of the outcomes, less that which is left when the claim is known.
func (t *trial) gain(all []hypothesis) float64 {
	var sum tallied
	var left, total float64
	for i := range all {
		if i > 0 && firstClaim(all, i) < i {
			continue // counted with the first of its claim
		}
		var of tallied
		for j := i; j < len(all); j++ {
			if !all[i].claims(&all[j]) {
				continue
			}
			o := t.outcome(&all[j])
			for _, way := range o.all[:o.n] {
				of.add(way.key, all[j].weight*way.p)
				sum.add(way.key, all[j].weight*way.p)
			}
			total += all[j].weight
		}
		left += of.total() * entropy(of.weights)
	}
	if total == 0 {
		return 0
	}
	return math.Max(0, entropy(sum.weights)-left/total)
}

func firstClaim(all []hypothesis, i int) int {
	return slices.IndexFunc(all, func(h hypothesis) bool { return h.claims(&all[i]) })
}

// tallied is how probable each outcome of a test is.
type tallied struct {
	keys    []int
	weights []float64
}

func (s *tallied) add(key int, weight float64) {
	at := slices.Index(s.keys, key)
	if at < 0 {
		at = len(s.keys)
		s.keys, s.weights = append(s.keys, key), append(s.weights, 0)
	}
	s.weights[at] += weight
}

func (s *tallied) total() (sum float64) {
	for _, w := range s.weights {
		sum += w
	}
	return sum
}

// Gains in bits under which a test isn't named: while it is open what is wrong,
// and once it is decided. Our choice, no source.
const (
	leastGain    = 0.02
	decidedGain  = 0.2
	decidedTwins = 0.001 // of what reads alike under the verdict
)

// nextTests ranks the trials by gain for the time they take; nearness to live
// parts counts as time. A load step is left out while a CT may be open.
func (j *judgement) nextTests() []NextTest {
	if j.stops() {
		return []NextTest{} // nothing but keeping away
	}
	all, least := j.open()
	type ranked struct {
		NextTest
		worth float64
	}
	var list []ranked
	for _, t := range j.trials() {
		bits := t.gain(all)
		if bits < least || j.made(&t) {
			continue
		}
		cost := t.minutes
		if t.live {
			cost += 10
		}
		list = append(list, ranked{NextTest{t.test, optional(t.channel), optional(t.leg), math.Round(bits*1000) / 1000, t.ask}, bits / cost})
	}
	slices.SortStableFunc(list, func(a, b ranked) int { return cmp.Compare(b.worth, a.worth) })
	tests := make([]NextTest, 0, len(list))
	for _, r := range list[:min(len(list), 4)] {
		tests = append(tests, r.NextTest)
	}
	return tests
}

// open lists the hypotheses that a test should tell apart, and the least gain
// for which one is worth its while. Once it is decided what is wrong only the
// arrangements that read alike are left, if there are any.
func (j *judgement) open() (all []hypothesis, least float64) {
	all = j.posterior.hypotheses()
	g := j.top()
	if g == nil || g.weight < j.options.decide() {
		return all, leastGain
	}
	if len(g.members) == 1 {
		return all, decidedGain
	}
	return j.posterior.alike(g), decidedTwins
}

// alike lists the members of a group under every frame that puts the inputs as it does.
func (p *posterior) alike(g *group) []hypothesis {
	var all []hypothesis
	for f := range p.frames {
		if !p.frames[f].hosts(g) {
			continue
		}
		for _, m := range g.members {
			if w := p.weights[f][m.number]; w > 0 {
				all = append(all, hypothesisOf(&p.frames[f], m.number, g.judged, w))
			}
		}
	}
	return all
}

func optional(n int) *int {
	if n == 0 {
		return nil
	}
	return &n
}

// trials lists the tests that could be made on this service.
func (j *judgement) trials() []trial {
	var all []trial
	n := j.service.Channels()
	steady := len(j.maybeOpen()) == 0
	for k := range n {
		if j.posterior.judged[k] && !j.silent(k) { // no hands near the leads of one that may be open
			all = append(all, lookTrial(k), traceTrial(k))
		}
	}
	for m := range j.service.Legs() {
		if steady && j.homed(m) {
			all = append(all, loadStepTrial(j.service, m))
		}
		all = append(all, j.clampTrial(m))
	}
	for k := range n {
		for i := range k {
			all = append(all, inputsTrial(i, k))
		}
	}
	return append(all, sequenceTrial(), j.bankTrial())
}

// inputsTrial measures the voltage between two inputs: none on one conductor.
func inputsTrial(i, k int) trial {
	return trial{test: "voltage", channel: k + 1, minutes: 3, live: true,
		ask: fmt.Sprintf("Measure the voltage between voltage inputs %d and %d, with a tester proved before and after: 0 V says that they share a conductor", i+1, k+1),
		outcome: sure(func(h *hypothesis) int {
			if h.frame.input[i] == h.frame.input[k] {
				return 1
			}
			return 0
		})}
}

// bankTrial switches a capacitor bank or generation off: the load angles that
// only one of them explains then go.
func (j *judgement) bankTrial() trial {
	return trial{test: "bank-off", minutes: 5,
		ask: "Is a capacitor bank or a generator on? Have it switched off by those who run it, and read again",
		outcome: sure(func(h *hypothesis) int {
			sc := newScene(h.frame, &j.posterior.sights)
			strange := 0
			for k, d := range h.digit {
				if d >= 0 && sc.seen[k][d].n > 0 && (sc.seen[k][d].phi[0] < -50 || sc.seen[k][d].phi[0] > 100) {
					strange++
				}
			}
			return strange
		})}
}

// homed reports a leg on which some CT belongs: a load is switched on there.
func (j *judgement) homed(m int) bool {
	for k := range j.service.Channels() {
		if int(j.service.HomeLeg(wiring.Channel(k+1)))-1 == m {
			return true
		}
	}
	return false
}

// loadStepTrial switches a known load on: it shows every channel on that leg,
// and by what the power does, as far as the load's angle lets it, its polarity.
func loadStepTrial(s wiring.Service, m int) trial {
	where := fmt.Sprintf("on leg %d", m+1)
	if s.Kind == wiring.Delta {
		where = fmt.Sprintf("between legs %d and 2", m+1)
	}
	return trial{test: "load-step", leg: m + 1, minutes: 3,
		ask:     fmt.Sprintf("Switch a load of a few amperes %s on, and see which channel takes it and whether its power rises or falls", where),
		outcome: func(h *hypothesis) outcomes { return h.stepOutcomes(m) }}
}

// stepOutcomes are the ways in which the channels may take a load on leg m.
func (h *hypothesis) stepOutcomes(m int) (o outcomes) {
	o.add(0, 1)
	for k := range h.digit {
		if h.takes(k, m) == 0 {
			continue
		}
		up := h.powerRises(k, m)
		before := o
		o = outcomes{}
		for _, way := range before.all[:before.n] {
			o.add(way.key|1<<(2*k), way.p*up)
			o.add(way.key|2<<(2*k), way.p*(1-up))
		}
	}
	return o
}

func lookTrial(k int) trial {
	return trial{test: "look", channel: k + 1, minutes: 4, live: true,
		ask:     fmt.Sprintf("Look at the arrow on CT %d and at its lead marks at the meter: does it point along the power?", k+1),
		outcome: sure(func(h *hypothesis) int { return h.digit[k] & 1 })}
}

func traceTrial(k int) trial {
	return trial{test: "trace", channel: k + 1, minutes: 6, live: true,
		ask:     fmt.Sprintf("Follow the conductor inside CT %d to its breaker pole: which voltage input is tapped from it?", k+1),
		outcome: sure(func(h *hypothesis) int { return h.digit[k] / 2 })}
}

// clampTrial measures one leg's current: it shows the channels that read the same.
func (j *judgement) clampTrial(m int) trial {
	return trial{test: "clamp", leg: m + 1, minutes: 4, live: true,
		ask: fmt.Sprintf("Clamp the conductor of leg %d with an ammeter, away from the CTs' leads, and compare with the channels", m+1),
		outcome: sure(func(h *hypothesis) int {
			for k, d := range h.digit {
				if d >= 0 && d/2 == m {
					return int(math.Round(math.Log(math.Max(j.posterior.sights[k].amps, 0.01)) / 0.05))
				}
			}
			return math.MinInt
		})}
}

func sequenceTrial() trial {
	return trial{test: "sequence", minutes: 5, live: true,
		ask:     "Put a phase-sequence indicator on the meter's voltage inputs, in the order 1, 2, 3",
		outcome: sure(func(h *hypothesis) int { return int(h.frame.sequence) })}
}
