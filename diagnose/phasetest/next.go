package phasetest

import (
	"fmt"
	"math"
)

// trial is one candidate for the next reading.
type trial struct {
	pair     Pair
	again    bool
	cost     float64 // the expected work that is left
	outcomes []outcome
}

// outcome is what would be left after a reading.
type outcome struct {
	reading Reading
	weight  float64 // of the mappings that lead one to expect it
	likely  bool    // one of them is among the best
	after   left
	lacks   int // taps that are still to be checked
	open    []mapping
	best    []mapping // those that the fewest readings contradict
}

func (o *outcome) settles() bool { return o.after.single() && o.lacks == 0 }

// work is about how many further readings an outcome would want: one to part
// each pair of mappings, one for each unchecked tap, one for each contradiction.
// It counts the mappings near the best, so that it never grows where a
// contradiction is resolved.
func (o *outcome) work() float64 {
	return float64(o.after.near - 1 + o.lacks + o.after.best)
}

// next chooses the candidate that leaves least work.
func (y *tally) next(s gathered, l left) *trial {
	var best *trial
	for _, p := range y.candidates(s, l) {
		c := y.try(p, s, l)
		if best == nil || c.cost < best.cost-1e-9 {
			best = c
		}
	}
	return best
}

// candidates lists the readings of the plan that weren't taken. Where there are
// none, or the readings contradict each other, one may be worth taking again.
func (y *tally) candidates(s gathered, l left) []Pair {
	all := y.t.missing(s)
	if len(all) > 0 && l.best == 0 {
		return all
	}
	listed := map[Pair]bool{}
	for _, r := range s.counts {
		if !listed[r.Pair] {
			all = append(all, r.Pair)
		}
		listed[r.Pair] = true
	}
	return all
}

// Weights of what is left: a mapping that explains all against one for which a
// reading would have to be wrong. An assumption of ours: readings go wrong, by a
// bad contact or a slip, about one time in ten at most.
const weightOfWrong = 0.1

// tieBreak, in readings, lets the one win that was taken less often. Our choice.
const tieBreak = 1e-3

// try works out what a reading of a pair would leave.
func (y *tally) try(p Pair, s gathered, l left) *trial {
	c := &trial{pair: p, again: s.has(p)}
	total := 0.0
	for _, i := range l.open {
		// 1 for a mapping of the least cost, a tenth for each further wrong reading.
		weight := math.Pow(weightOfWrong, float64(y.cost(i)-l.best))
		r := y.t.predicts(p, y.mappings[i].ends(p), y.bestWorld(i))
		o := c.outcome(y.t, r)
		o.weight += weight
		o.likely = o.likely || y.cost(i) == l.best
		total += weight
	}
	// sum over outcomes of P(outcome) x the work that it leaves
	c.cost = tieBreak * float64(s.times(p))
	for n := range c.outcomes {
		o := &c.outcomes[n]
		y.after(o, s)
		c.cost += o.weight / total * o.work()
	}
	return c
}

// outcome finds or makes the one that reads like r.
func (c *trial) outcome(t Test, r Reading) *outcome {
	for n := range c.outcomes {
		if t.again(c.outcomes[n].reading, r) {
			return &c.outcomes[n]
		}
	}
	c.outcomes = append(c.outcomes, outcome{reading: r})
	return &c.outcomes[len(c.outcomes)-1]
}

// after weighs a reading as if it had been taken, and takes it out again.
func (y *tally) after(o *outcome, s gathered) {
	then := s.with(y.t, o.reading)
	dropped := then.aside[len(s.aside):]
	y.count(o.reading, 1)
	for _, r := range dropped {
		y.count(r, -1)
	}
	o.after = y.left()
	for _, i := range o.after.open {
		o.open = append(o.open, y.mappings[i])
		if y.cost(i) == o.after.best {
			o.best = append(o.best, y.mappings[i])
		}
	}
	o.lacks = len(y.unchecked(o.after.open[0], then.counts))
	y.count(o.reading, -1)
	for _, r := range dropped {
		y.count(r, 1)
	}
}

// said makes the words of a trial.
func (y *tally) said(c *trial) *Next {
	n := &Next{Pair: PairName(y.t.Service, c.pair), Again: c.again, Settles: true, Outcomes: []Outcome{}}
	for i := range c.outcomes {
		o := &c.outcomes[i]
		n.Settles = n.Settles && (o.settles() || !o.likely)
		n.Outcomes = append(n.Outcomes, Outcome{
			Reads:     y.t.reads(o.reading),
			Likeliest: y.leaves(c.pair, o.best),
			Leaves:    y.leaves(c.pair, o.open),
			Settles:   o.settles(),
		})
	}
	n.Ask = y.ask(n, c)
	return n
}

// reads says a value that is expected.
func (t Test) reads(r Reading) string {
	if t.Dead {
		return t.shown(r)
	}
	return fmt.Sprintf("about %.0f V", r.Volts)
}

// leaves says where the pole of a pair may be under some mappings.
func (y *tally) leaves(p Pair, open []mapping) []string {
	pole := p.To.Number
	if p.From.Kind == Pole {
		pole = p.From.Number
	}
	if p.From.Kind != Pole && p.To.Kind != Pole {
		return []string{}
	}
	return y.possible(pole, open)
}

// possible lists where a pole is under some mappings, in the order of the legs.
func (y *tally) possible(pole int, open []mapping) []string {
	var all []string
	for _, s := range y.t.states() {
		for _, m := range open {
			if m[pole-1] == s {
				all = append(all, y.t.name(s))
				break
			}
		}
	}
	return all
}

func (y *tally) ask(n *Next, c *trial) string {
	verb := "Read " + n.Pair
	if n.Again {
		verb = "Read " + n.Pair + " again, probes set anew"
	}
	return verb + " (" + y.t.pairWords(c.pair) + ")"
}

// pairWords says what the probes touch.
func (t Test) pairWords(p Pair) string { return t.pointWords(p.From) + " to " + t.pointWords(p.To) }

func (t Test) pointWords(p Point) string {
	switch p.Kind {
	case Leg:
		return "main leg " + LegName(t.Service, p.Number)
	case Pole:
		return fmt.Sprintf("pole %d", p.Number)
	}
	return "neutral"
}
