package infer

import (
	"math"

	"legwork/diagnose/internal/prior"
	"legwork/diagnose/wiring"
)

// What a person's tests say of each hypothesis.

// likelihoodOf is the probability of a finding under a hypothesis, slips included:
// (1 - e) p + e (1 - p) / (n - 1), with n answers.
func likelihoodOf(f *wiring.Finding, h *Hypothesis, amps *[3]float64) float64 {
	p := chance(f, h, amps)
	return (1-findingError)*p + findingError*(1-p)/float64(f.Answers(h.Frame.Service)-1)
}

// chance is the probability of a finding under a hypothesis if nobody slipped.
func chance(f *wiring.Finding, h *Hypothesis, amps *[3]float64) float64 {
	k, m := f.Channel-1, f.Leg-1
	switch f.Test {
	case wiring.LoadStep:
		return stepChance(f, h)
	case wiring.Look:
		return certain(h.Digit[k] < 0 || (h.Digit[k]%2 == 1) == (f.Outcome == wiring.ArrowWrong))
	case wiring.Trace:
		return certain(h.Digit[k] < 0 || (h.Digit[k]/2 == m) == (f.Outcome == wiring.OnLeg))
	case wiring.SequenceTest:
		return certain(h.Frame.Sequence.String() == string(f.Outcome))
	case wiring.ClampTest:
		return certain(clampFits(f, h, amps))
	case wiring.VoltageTest:
		return certain((h.Frame.Input[k] == h.Frame.Input[f.Other-1]) == (f.Outcome == wiring.NoVolts))
	}
	return 1
}

func certain(is bool) float64 {
	if is {
		return 1
	}
	return 0
}

// stepChance is of a load that came on on one leg, so that the current of one
// channel rose, and with it rose or fell its power. Which of both, the load's own
// angle has a say in: it isn't known.
func stepChance(f *wiring.Finding, h *Hypothesis) float64 {
	k, m := f.Channel-1, f.Leg-1
	if f.Outcome == wiring.NoChannel {
		for k := range h.Digit {
			if h.Takes(k, m) != 0 {
				return 0
			}
		}
		return 1
	}
	switch {
	case h.Digit[k] < 0:
		return 1
	case h.Takes(k, m) == 0:
		return 0
	case f.Outcome == wiring.PowerUp:
		return h.PowerRises(k, m)
	}
	return 1 - h.PowerRises(k, m)
}

// clampFits compares a leg's current with that of the channel on it.
func clampFits(f *wiring.Finding, h *Hypothesis, amps *[3]float64) bool {
	for k, d := range h.Digit {
		if d >= 0 && d/2 == f.Leg-1 {
			return math.Abs(amps[k]-f.Amps) <= ClampSlack*math.Max(f.Amps, 1)
		}
	}
	return true
}

// WeighFindings multiplies the posterior by what a person's tests say, and keeps
// what they say of every arrangement.
func (p *Posterior) WeighFindings(all []wiring.Finding) {
	if len(all) == 0 {
		return
	}
	var amps [3]float64
	for k := range amps {
		amps[k] = p.Now[k].Amps
	}
	p.findings = make([][prior.Arrangements]float64, len(p.Frames))
	var sum float64
	for f := range p.Frames {
		judged := unpack(p.JudgedUnder(&p.Frames[f]))
		for a, w := range p.Weights[f] {
			if w == 0 {
				continue
			}
			h := HypothesisOf(&p.Frames[f], a, judged, w)
			p.findings[f][a] = likelihoodOfAll(all, &h, &amps)
			p.Weights[f][a] *= p.findings[f][a]
			sum += p.Weights[f][a]
		}
	}
	p.scale(sum)
}

// likelihoodOfAll is the probability of all findings under a hypothesis.
func likelihoodOfAll(all []wiring.Finding, h *Hypothesis, amps *[3]float64) float64 {
	p := 1.0
	var named [3][3]bool // by leg and channel
	var stepped [3]bool
	for i := range all {
		f := &all[i]
		p *= likelihoodOf(f, h, amps)
		if f.Test == wiring.LoadStep && f.Channel > 0 {
			stepped[f.Leg-1], named[f.Leg-1][f.Channel-1] = true, true
		}
	}
	for m := range stepped {
		for k := range h.Digit {
			if stepped[m] && !named[m][k] && h.Takes(k, m) != 0 {
				p *= unnamed
			}
		}
	}
	return p
}

// Contradicts reports a test that would probably have come out otherwise under a group.
func (g *Group) Contradicts(f *wiring.Finding) bool {
	var amps [3]float64
	for k := range amps {
		amps[k] = g.Of.Now[k].Amps
	}
	var p, sum float64
	for _, h := range g.Of.Alike(g) {
		p += h.Weight * chance(f, &h, &amps)
		sum += h.Weight
	}
	return sum > 0 && p < sum/2
}
