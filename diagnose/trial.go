package diagnose

import (
	"fmt"
	"math"

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

func sequenceTrial() trial {
	return trial{test: "sequence", minutes: 5, live: true,
		ask:     "Put a phase-sequence indicator on the meter's voltage inputs, in the order 1, 2, 3",
		outcome: sure(func(h *hypothesis) int { return int(h.frame.sequence) })}
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
