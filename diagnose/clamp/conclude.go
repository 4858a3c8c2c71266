package clamp

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"legwork/probe/reading"
)

// conclude says what may explain the comparisons, currents first.
func (r *Result) conclude(set Rating) {
	for _, q := range []reading.Quantity{reading.Current, reading.Voltage} {
		var of []Compared
		for _, c := range r.Channels {
			if c.Quantity == q.String() {
				of = append(of, c)
			}
		}
		if len(of) > 0 {
			r.Explanations = append(r.Explanations, explain(of, set)...)
		}
	}
	r.decide()
}

// explain says what one quantity's comparisons may mean.
func explain(of []Compared, set Rating) []Explanation {
	judged, blurred := sortOut(of)
	judged, all := readNothing(judged)
	off := withState(judged, Off)
	switch {
	case len(judged) == 0:
	case len(off) == 0:
		all = append(all, ratiosRight(judged))
	default:
		all = append(all, whatIsOff(judged, off, set)...)
	}
	return append(all, blurred...)
}

// sortOut parts what can be judged from what can't, and says why not.
func sortOut(of []Compared) (judged []Compared, blurred []Explanation) {
	for _, c := range of {
		e := Explanation{Quantity: c.Quantity, Channels: []int{c.Channel}, Legs: []int{}}
		switch c.State {
		case Unsteady:
			e.Cause = NotSteady
			e.Words = fmt.Sprintf("the load of channel %d changed too much between samples to conclude (%s %% of one standard deviation); read both again while it is steady",
				c.Channel, percent(c.Deviation.Or(0)/c.Meter.Or(1)))
		case TooSmall:
			e.Cause = NotEnough
			e.Words = fmt.Sprintf("the instrument can't tell %.4g of channel %d well enough: its limit of error is %.2g; put more load on, or use a smaller range", c.Instrument, c.Channel, c.Limit)
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

// nothingShare of what the instrument reads is nothing.
const nothingShare = 0.02

// readNothing takes out channels that read nothing where current flows, which
// come before any talk of ratios.
func readNothing(of []Compared) (rest []Compared, found []Explanation) {
	for _, c := range of {
		if c.Quantity != reading.Current.String() || c.State != Off || c.Ratio.Or(1) > nothingShare {
			rest = append(rest, c)
			continue
		}
		found = append(found, Explanation{Cause: Nothing, Quantity: c.Quantity, Channels: []int{c.Channel}, Legs: []int{}, Ratio: c.Ratio,
			Words: fmt.Sprintf("channel %d reads nothing where the clamp reads %.4g A: its CT may be open, shorted, or round nothing", c.Channel, c.Instrument)})
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

func ratiosRight(judged []Compared) Explanation {
	e := Explanation{Cause: RatiosRight, Quantity: judged[0].Quantity, Channels: channelsOf(judged), Legs: []int{}, Ratio: reading.Known(1.0)}
	e.Words = "the voltages agree with the voltmeter"
	if e.Quantity == reading.Current.String() {
		e.Words = "the currents agree with the clamp: CT ratings and settings are right; if the powers are wrong all the same, it is angles (polarity, pairing), which no clamp shows"
	}
	return e
}

// whatIsOff lists what may explain ratios that are wrong, the likeliest first.
func whatIsOff(judged, off []Compared, set Rating) []Explanation {
	var all []Explanation
	if e, ok := oneRatio(judged, off, set); ok {
		return append(all, e)
	}
	all = append(all, exchanges(judged)...)
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
	e := Explanation{Cause: SetWrong, Quantity: off[0].Quantity, Channels: channelsOf(off), Legs: []int{}, Ratio: reading.Known(ratio)}
	if e.Quantity == reading.Voltage.String() {
		e.Words = fmt.Sprintf("every voltage reads %.4g times the voltmeter's: the scale of the map or a ratio of voltage transformers%s", ratio, rootOfThree(ratio))
		return e, true
	}
	e.Words = fmt.Sprintf("every current reads %.4g times the clamp's: the type or rating of the CTs that is programmed, or the scale of the map, is wrong%s",
		ratio, ratingWords(ratingsFor(set, ratio, math.Min(low, ratio), math.Max(high, ratio)), set))
	return e, true
}

func slackOf(c Compared) float64 {
	if c.Quantity == reading.Voltage.String() {
		return voltageSlack
	}
	return currentSlack
}

// odd explains one channel by itself.
func odd(c Compared, set Rating, cause Cause) Explanation {
	e := Explanation{Cause: cause, Quantity: c.Quantity, Channels: []int{c.Channel}, Legs: []int{}, Ratio: c.Ratio}
	ratio := c.Ratio.Or(1)
	if c.Quantity == reading.Voltage.String() {
		e.Words = fmt.Sprintf("voltage %d reads %.4g times the voltmeter's%s", c.Channel, ratio, rootOfThree(ratio))
		return e
	}
	e.Words = fmt.Sprintf("channel %d reads %.4g times the clamp's: an odd CT%s%s", c.Channel, ratio, ratingWords(c.Ratings, set), windowWords(ratio))
	return e
}

// ratingWords names the ratings that would do it.
func ratingWords(fit []Explained, set Rating) string {
	switch {
	case set.Primary == 0:
		return ""
	case len(fit) == 0:
		return fmt.Sprintf("; no standard rating fits the %s that the meter is set to", set)
	}
	names := make([]string, len(fit))
	for i, f := range fit {
		names[i] = f.Rating.String()
	}
	return fmt.Sprintf("; the meter is set to %s, and CTs of %s would read so", set, strings.Join(names, " or "))
}

// windowWords says what whole numbers may mean beside ratings.
func windowWords(ratio float64) string {
	for _, n := range []float64{2, 3} {
		if math.Abs(ratio/n-1) < 0.05 {
			return fmt.Sprintf("; or the conductor goes through its window %g times", n)
		}
		if math.Abs(ratio*n-1) < 0.05 {
			return fmt.Sprintf("; or it is round one of %g parallel conductors", n)
		}
	}
	if ratio < 0.95 {
		return "; or its core isn't closed"
	}
	return ""
}

func rootOfThree(ratio float64) string {
	switch {
	case math.Abs(ratio/math.Sqrt(3)-1) < 0.03:
		return "; the root of three: line voltage against voltage to neutral"
	case math.Abs(ratio*math.Sqrt(3)-1) < 0.03:
		return "; one over the root of three: voltage to neutral against line voltage"
	}
	return ""
}

// exchanges lists the ways in which exchanged legs explain every difference;
// where two exchanged legs do, a roll of three isn't told.
func exchanges(judged []Compared) []Explanation {
	var all []Explanation
	for _, order := range orders(len(judged)) {
		rolls := len(order) == 3 && order[0] != 0 && order[1] != 1 && order[2] != 2
		if !fits(judged, order) || rolls && len(all) > 0 && len(all[0].Channels) == 2 {
			continue
		}
		e := Explanation{Cause: Exchanged, Quantity: judged[0].Quantity}
		var words []string
		for i, j := range order {
			if i == j {
				continue
			}
			e.Channels, e.Legs = append(e.Channels, judged[i].Channel), append(e.Legs, judged[j].Leg)
			words = append(words, fmt.Sprintf("channel %d reads what leg %d carries", judged[i].Channel, judged[j].Leg))
		}
		e.Words = strings.Join(words, ", ") + ": CTs on each other's legs, or legs that were called by each other's names at the clamp"
		if e.Quantity == reading.Voltage.String() {
			e.Words = strings.ReplaceAll(strings.Join(words, ", "), "carries", "has") + ": voltage leads exchanged, or legs called by each other's names"
		}
		all = append(all, e)
	}
	return all
}

// fits reports that channel i reads what the instrument read of leg order[i].
func fits(judged []Compared, order []int) bool {
	for i, j := range order {
		c, leg := judged[i], judged[j]
		half := leg.Instrument - leg.Meter.Or(0)/leg.High.Or(math.Inf(1))
		if math.Abs(c.Meter.Or(0)-leg.Instrument) > half+slackOf(c)*leg.Instrument {
			return false
		}
	}
	return true
}

// orders lists the permutations of n that aren't the identity, those that move
// least first.
func orders(n int) [][]int {
	switch n {
	case 2:
		return [][]int{{1, 0}}
	case 3:
		return [][]int{{1, 0, 2}, {2, 1, 0}, {0, 2, 1}, {1, 2, 0}, {2, 0, 1}}
	}
	return nil
}

// caution says what comes before a hand goes near what was found.
func (r *Result) caution() {
	r.Cautions = append(r.Cautions, "reading a clamp or a voltmeter at a live panel is work for those qualified, with arc-flash protection; local codes and licensed practice come first")
	for _, e := range r.Explanations {
		switch {
		case e.Cause == Nothing:
			r.Cautions = slices.Insert(r.Cautions, 0, fmt.Sprintf("the CT of channel %d may be open, with a dangerous voltage at its leads: keep away from them, no clamp near them, no further load; take the primary load off first", e.Channels[0]))
		case e.Quantity == reading.Current.String() && (e.Cause == OneOdd || e.Cause == Unlike || e.Cause == SetWrong || e.Cause == Exchanged):
			r.Cautions = append(r.Cautions, "look at a CT's plate and core with the panel locked out and proved dead; never open the secondary of a current-output CT while its primary carries current")
			return
		}
	}
}

// decide gives the verdict and the sentence.
func (r *Result) decide() {
	r.Verdict, r.Summary = Undecided, "Nothing was compared."
	var faults, open, right []Explanation
	for _, e := range r.Explanations {
		switch e.Cause {
		case RatiosRight:
			right = append(right, e)
		case NotSteady, NotEnough:
			open = append(open, e)
		default:
			faults = append(faults, e)
		}
	}
	switch {
	case len(faults) > 0:
		r.Verdict, r.Summary = Fault, sentence(faults[0].Words)
	case len(open) > 0:
		r.Summary = sentence(open[0].Words)
	case len(right) > 0:
		r.Verdict, r.Summary = Agrees, sentence(right[0].Words)
	}
}

func sentence(words string) string { return strings.ToUpper(words[:1]) + words[1:] + "." }

func percent(share float64) string { return fmt.Sprintf("%.3g", 100*math.Abs(share)) }
