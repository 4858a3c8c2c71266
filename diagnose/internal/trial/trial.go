package trial

import (
	"fmt"
	"math"

	"legwork/diagnose/internal/infer"
	"legwork/diagnose/wiring"
)

// trial is a test that a technician can make. A hypothesis gives each of its
// outcomes, which are told by a key, a probability.
type trial struct {
	test    wiring.Test
	channel int // 0 for none
	leg     int // 0 for none
	ask     string
	minutes float64
	live    bool // brings hands or probes near live parts
	outcome func(h *infer.Hypothesis) outcomes
}

// Site is what decides which tests can be made.
type Site struct {
	Service   wiring.Service
	Worlds    []infer.Weighed // the ordinary one first
	MaybeOpen [3]bool         // the CT may be open: no load step at all, and no hands near its leads
}

// trials lists the tests that could be made on a site.
func trials(s Site) []trial {
	var all []trial
	n := s.Service.Channels()
	steady := s.MaybeOpen == [3]bool{}
	for k := range n {
		if s.Worlds[0].Posterior.Judged[k] && !s.MaybeOpen[k] {
			all = append(all, lookTrial(k), traceTrial(k))
		}
	}
	for m := range s.Service.Legs() {
		if steady && homed(s.Service, m) {
			all = append(all, loadStepTrial(s.Service, &s.Worlds[0].Posterior, m))
		}
		all = append(all, clampTrial(&s.Worlds[0].Posterior, m))
	}
	for k := range n {
		for i := range k {
			all = append(all, inputsTrial(i, k))
		}
	}
	return append(all, sequenceTrial(), bankTrial(&s.Worlds[0].Posterior))
}

func lookTrial(k int) trial {
	return trial{test: wiring.Look, channel: k + 1, minutes: 4, live: true,
		ask:     fmt.Sprintf("Look at the arrow on CT %d and at its lead marks at the meter: does it point along the power?", k+1),
		outcome: sure(func(h *infer.Hypothesis) int { return h.Digit[k] & 1 })}
}

func traceTrial(k int) trial {
	return trial{test: wiring.Trace, channel: k + 1, minutes: 6, live: true,
		ask:     fmt.Sprintf("Follow the conductor inside CT %d to its breaker pole: which voltage input is tapped from it?", k+1),
		outcome: sure(func(h *infer.Hypothesis) int { return h.Digit[k] / 2 })}
}

// homed reports a leg on which some CT belongs: a load is switched on there.
func homed(s wiring.Service, m int) bool {
	for k := range s.Channels() {
		if int(s.HomeLeg(wiring.Channel(k+1)))-1 == m {
			return true
		}
	}
	return false
}

// loadStepTrial switches a known load on: it shows every channel on that leg,
// and by what the power does, as far as the load's angle lets it, its polarity.
func loadStepTrial(s wiring.Service, p *infer.Posterior, m int) trial {
	where := fmt.Sprintf("on leg %d", m+1)
	if s.Kind == wiring.Delta {
		where = fmt.Sprintf("between legs %d and 2", m+1)
	}
	power := ""
	for k := range s.Channels() {
		if p.ShowsPower(k) {
			power = " and whether its power rises or falls"
		}
	}
	return trial{test: wiring.LoadStep, leg: m + 1, minutes: 3,
		ask:     fmt.Sprintf("Switch a load of a few amperes %s on, and see which channel takes it%s", where, power),
		outcome: func(h *infer.Hypothesis) outcomes { return stepOutcomes(h, p, m) }}
}

// stepOutcomes are the ways in which the channels may take a load on leg m.
func stepOutcomes(h *infer.Hypothesis, p *infer.Posterior, m int) (o outcomes) {
	o.add(0, 1)
	for k := range h.Digit {
		if h.Takes(k, m) == 0 {
			continue
		}
		up := h.PowerRises(k, m)
		if !p.ShowsPower(k) {
			up = 1
		}
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
func clampTrial(p *infer.Posterior, m int) trial {
	return trial{test: wiring.ClampTest, leg: m + 1, minutes: 4, live: true,
		ask: fmt.Sprintf("Clamp the conductor of leg %d with an ammeter, away from the CTs' leads, and compare with the channels", m+1),
		outcome: sure(func(h *infer.Hypothesis) int {
			for k, d := range h.Digit {
				if d >= 0 && d/2 == m {
					return int(math.Round(math.Log(math.Max(p.Observed[k].Amps, 0.01)) / 0.05))
				}
			}
			return math.MinInt
		})}
}

// inputsTrial measures the voltage between two inputs: none on one conductor.
func inputsTrial(i, k int) trial {
	return trial{test: wiring.VoltageTest, channel: k + 1, minutes: 3, live: true,
		ask: fmt.Sprintf("Measure the voltage between voltage inputs %d and %d, with a tester proved before and after: 0 V says that they share a conductor", i+1, k+1),
		outcome: sure(func(h *infer.Hypothesis) int {
			if h.Frame.Input[i] == h.Frame.Input[k] {
				return 1
			}
			return 0
		})}
}

func sequenceTrial() trial {
	return trial{test: wiring.SequenceTest, minutes: 5, live: true,
		ask:     "Put a phase-sequence indicator on the meter's voltage inputs, in the order 1, 2, 3",
		outcome: sure(func(h *infer.Hypothesis) int { return int(h.Frame.Sequence) })}
}

// bankTrial switches a capacitor bank or generation off: the load angles that
// only one of them explains then go.
func bankTrial(p *infer.Posterior) trial {
	return trial{test: wiring.BankOff, minutes: 5,
		ask: "Is a capacitor bank or a generator on? Have it switched off by those who run it, and read again",
		outcome: sure(func(h *infer.Hypothesis) int {
			sc := infer.NewScene(h.Frame, &p.Observed, p.Sort)
			strange := 0
			for k, d := range h.Digit {
				if d >= 0 && sc.FarFromLoads(k, d) {
					strange++
				}
			}
			return strange
		})}
}
