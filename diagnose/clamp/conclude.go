package clamp

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"legwork/diagnose/wiring"
	"legwork/probe/reading"
)

// conclude says what may explain the comparisons, currents first.
// channels is how many the service has, 0 where that isn't known.
func (r *Result) conclude(set Rating, channels int) {
	for _, q := range []reading.Quantity{reading.Current, reading.Voltage} {
		var of []Compared
		for _, c := range r.Channels {
			if c.Quantity == q.String() {
				of = append(of, c)
			}
		}
		if len(of) > 0 {
			r.Explanations = append(r.Explanations, explain(of, set, channels)...)
		}
	}
	r.decide()
}

// closeFit is the share within which legs that were exchanged read alike, beside loads
// that may have drifted instead. Our choice.
const closeFit = 0.005

// explain says what one quantity's comparisons may mean.
func explain(of []Compared, set Rating, channels int) []Explanation {
	judged, blurred := sortOut(of)
	judged, all := readNothing(judged)
	off, drifted := withState(judged, Off), withState(judged, Drifted)
	if len(drifted) > 0 {
		if swapped := exchanges(judged, closeFit); len(off) > 0 || len(swapped) > 0 {
			off = append(off, drifted...) // what explains all at once is likelier than drift of each
		} else {
			blurred = append(blurred, mayDrift(drifted)...)
			judged = slices.DeleteFunc(judged, func(c Compared) bool { return c.State == Drifted })
		}
	}
	switch {
	case len(judged) == 0:
	case len(off) == 0:
		all = append(all, ratiosRight(judged, channels))
	default:
		all = append(all, whatIsOff(judged, off, set)...)
	}
	return append(all, blurred...)
}

// mayDrift says that the two readings may not be of the same load.
func mayDrift(of []Compared) (all []Explanation) {
	for _, c := range of {
		all = append(all, Explanation{Cause: MayDrift, Quantity: c.Quantity, Channels: []int{c.Channel}, Legs: []int{},
			Ratio: c.Ratio,
			Words: fmt.Sprintf("channel %d reads %.4g times the clamp's, and its load may have drifted so far between the two "+
				"readings; read both again at one moment, with a load that stays", c.Channel, c.Ratio.Or(1))})
	}
	return all
}

// sortOut parts what can be judged from what can't, and says why not.
func sortOut(of []Compared) (judged []Compared, blurred []Explanation) {
	for _, c := range of {
		e := Explanation{Quantity: c.Quantity, Channels: []int{c.Channel}, Legs: []int{}}
		switch c.State {
		case Unsteady:
			e.Cause = NotSteady
			e.Words = fmt.Sprintf("the load of channel %d changed too much between samples to conclude (%.3g %% of one "+
				"standard deviation); read both again while it is steady",
				c.Channel, 100*math.Abs(c.Deviation.Or(0)/c.Meter.Or(1)))
		case TooSmall:
			e.Cause = NotEnough
			e.Words = fmt.Sprintf("the instrument can't tell %.4g of channel %d well enough: its limit of error is %.2g; put "+
				"more load on, or use a smaller range", c.Instrument, c.Channel, c.Limit)
		case NotRead:
			e.Cause = NotEnough
			e.Words = fmt.Sprintf("the meter gives no %s of channel %d", c.Quantity, c.Channel)
		default:
			judged = append(judged, c)
			continue
		}
		blurred = append(blurred, e)
	}
	return judged, blurred
}

// nothingShare of what the instrument reads is nothing. Our choice, no source.
const nothingShare = 0.02

// readNothing takes out channels that read nothing where current flows, which
// come before any talk of ratios.
func readNothing(of []Compared) (rest []Compared, found []Explanation) {
	for _, c := range of {
		if c.Quantity != reading.Current.String() || c.State != Off || c.Ratio.Or(1) > nothingShare {
			rest = append(rest, c)
			continue
		}
		found = append(found, Explanation{Cause: Nothing, Quantity: c.Quantity, Channels: []int{c.Channel}, Legs: []int{},
			Ratio: c.Ratio,
			Words: fmt.Sprintf("channel %d reads nothing where the clamp reads %.4g A: its CT may be open, shorted, or round "+
				"nothing", c.Channel, c.Instrument)})
	}
	return rest, found
}

func withState(of []Compared, s State) []Compared {
	return slices.DeleteFunc(slices.Clone(of), func(c Compared) bool { return c.State != s })
}

func channelsOf(of []Compared) []int {
	all := make([]int, len(of))
	for i, c := range of {
		all[i] = c.Channel
	}
	return all
}

// ratiosRight speaks of the channels that were clamped, and of no other.
func ratiosRight(judged []Compared, channels int) Explanation {
	e := Explanation{Cause: RatiosRight, Quantity: judged[0].Quantity, Channels: channelsOf(judged), Legs: []int{},
		Ratio: reading.Known(1.0)}
	with, then := "voltages agree with the voltmeter", ""
	if e.Quantity == reading.Current.String() {
		with = "currents agree with the clamp"
		then = ": CT ratings and settings are right there; if the powers are wrong all the same, it is angles (polarity, " +
			"pairing), which no clamp shows"
	}
	if rest := missing(e.Channels, channels); len(rest) > 0 {
		then += "; nothing is known of " + named(rest)
	}
	e.Words = fmt.Sprintf("the %s on %s%s", with, named(e.Channels), then)
	return e
}

// missing lists the channels, of so many, that aren't among some.
func missing(some []int, channels int) (rest []int) {
	for k := 1; k <= channels; k++ {
		if !slices.Contains(some, k) {
			rest = append(rest, k)
		}
	}
	return rest
}

// named is "channel 1", or "channels 1 and 3".
func named(channels []int) string {
	words := make([]string, len(channels))
	for i, k := range channels {
		words[i] = fmt.Sprint(k)
	}
	if len(words) == 1 {
		return "channel " + words[0]
	}
	last := len(words) - 1
	return "channels " + strings.Join(words[:last], ", ") + " and " + words[last]
}

// whatIsOff lists what may explain ratios that are wrong, the likeliest first.
func whatIsOff(judged, off []Compared, set Rating) []Explanation {
	var all []Explanation
	if e, ok := oneRatio(judged, off, set); ok {
		return append(all, e)
	}
	all = append(all, exchanges(judged, slackOf(judged[0]))...)
	swapped := len(all) > 0
	cause := Unlike
	if len(off) == 1 {
		cause = OneOdd
	}
	for _, c := range off {
		if !swapped || len(c.Ratings) > 0 {
			all = append(all, odd(c, set, cause))
		}
	}
	return all
}

// oneRatio finds that all channels, of which there are several, are off by one
// and the same ratio.
func oneRatio(judged, off []Compared, set Rating) (Explanation, bool) {
	if len(off) != len(judged) || len(off) < 2 {
		return Explanation{}, false
	}
	// low to high is what all intervals share. The ratio is the geometric mean,
	// exp(sum of ln r_k / n), since ratings are apart by factors.
	low, high, sum := 0.0, math.Inf(1), 0.0
	for _, c := range off {
		slack := slackOf(c)
		low, high = math.Max(low, c.Low.Or(0)*(1-slack)), math.Min(high, c.High.Or(math.Inf(1))*(1+slack))
		sum += math.Log(c.Ratio.Or(1))
	}
	if low > high {
		return Explanation{}, false
	}
	ratio := math.Exp(sum / float64(len(off)))
	e := Explanation{Cause: SetWrong, Quantity: off[0].Quantity, Channels: channelsOf(off), Legs: []int{},
		Ratio: reading.Known(ratio)}
	if e.Quantity == reading.Voltage.String() {
		e.Words = fmt.Sprintf("every voltage reads %.4g times the voltmeter's: the scale of the map or a ratio of voltage "+
			"transformers%s", ratio, rootOfThree(ratio))
		return e, true
	}
	e.Words = fmt.Sprintf("every current reads %.4g times the clamp's: the type or rating of the CTs that is "+
		"programmed, or the scale of the map, is wrong%s",
		ratio, ratingWords(ratingsFor(set, ratio, math.Min(low, ratio), math.Max(high, ratio)), set))
	return e, true
}

// decide gives the verdict and the sentence.
func (r *Result) decide() {
	r.Verdict, r.Summary = wiring.Undecided, "Nothing was compared."
	var faults, open, right []Explanation
	for _, e := range r.Explanations {
		switch e.Cause {
		case RatiosRight:
			right = append(right, e)
		case NotSteady, NotEnough, MayDrift, RatingsTold:
			open = append(open, e)
		default:
			faults = append(faults, e)
		}
	}
	switch {
	case len(faults) > 0:
		r.Verdict, r.Summary = wiring.Fault, sentence(faults[0].Words)
	case len(open) > 0:
		r.Summary = sentence(open[0].Words)
	case len(right) > 0:
		r.Verdict, r.Summary = wiring.Agrees, sentence(right[0].Words)
	}
}

func sentence(words string) string { return strings.ToUpper(words[:1]) + words[1:] + "." }
