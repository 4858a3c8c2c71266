package survey

import (
	"math"

	"legwork/diagnose"
	"legwork/probe/reading"
)

// Loss is true power less registered power, W, with the interval that the
// verdict's own doubt leaves. Unknown where the verdict leaves it open.
type Loss struct{ Best, Low, High reading.Value }

// enough is the probability of the explanations that an interval covers; our choice.
const enough = 0.95

// LossOf follows from the registration of a verdict's explanations.
func LossOf(r *diagnose.Result) Loss {
	if r.Verdict == diagnose.Undecided || len(r.Explanations) == 0 {
		return Loss{}
	}
	p, known := Registered(r).Get()
	if !known {
		return Loss{}
	}
	var l Loss
	covered, low, high := 0.0, math.Inf(1), math.Inf(-1)
	for i := range r.Explanations {
		best, lo, hi, ok := lossUnder(&r.Explanations[i], p)
		if !ok {
			return Loss{}
		}
		if i == 0 {
			l.Best = reading.Known(best)
		}
		low, high = math.Min(low, lo), math.Max(high, hi)
		if covered += r.Explanations[i].Probability; covered >= enough {
			break
		}
	}
	l.Low, l.High = reading.Known(low), reading.Known(high)
	return l
}

// least registration by which the true power can be had from what is registered.
const leastShare = 0.05

// lossUnder is T (1 - g) for a true power T and a registration g = P / T. T is
// the sum of what is expected after the move, where that is known: a g near zero
// says little of it.
func lossUnder(x *diagnose.Explanation, p float64) (best, low, high float64, ok bool) {
	g, known := x.Registration.Get()
	if !known {
		return 0, 0, 0, false
	}
	t, expected := 0.0, len(x.Expect) > 0
	for _, e := range x.Expect {
		w, known := e.Power.Get()
		t, expected = t+w, expected && known
	}
	if !expected {
		if math.Abs(g) < leastShare {
			return 0, 0, 0, false
		}
		t = p / g
	}
	lo, hi := x.RegistrationLow.Or(g), x.RegistrationHigh.Or(g)
	low, high = t*(1-hi), t*(1-lo)
	return t * (1 - g), math.Min(low, high), math.Max(low, high), true
}

// Registered is the sum of the channels' powers, W.
func Registered(r *diagnose.Result) reading.Value {
	return sumOf(r.Channels, func(c diagnose.ChannelJudged) reading.Value { return c.Power })
}

// sumOf is the sum of the channels' powers, unknown unless all are known.
func sumOf[C any](channels []C, power func(C) reading.Value) reading.Value {
	sum, known := 0.0, len(channels) > 0
	for _, c := range channels {
		p, ok := power(c).Get()
		sum, known = sum+p, known && ok
	}
	if !known {
		return reading.Value{}
	}
	return reading.Known(sum)
}
