package clamp

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"legwork/probe/reading"
)

// odd explains one channel by itself.
func odd(c Compared, set Rating, cause Cause) Explanation {
	e := Explanation{Cause: cause, Quantity: c.Quantity, Channels: []int{c.Channel}, Legs: []int{}, Ratio: c.Ratio}
	ratio := c.Ratio.Or(1)
	if c.Quantity == reading.Voltage.String() {
		e.Words = fmt.Sprintf("voltage %d reads %.4g times the voltmeter's%s", c.Channel, ratio, rootOfThree(ratio))
		return e
	}
	e.Words = fmt.Sprintf("channel %d reads %.4g times the clamp's: a CT of the wrong ratio%s%s", c.Channel, ratio,
		ratingWords(c.Ratings, set), windowWords(ratio))
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

// windowWords says what whole numbers may mean beside ratings, within 5 % (our
// choice: clamp, CT and a load shared between parallel conductors). A CT's secondary is
// proportional to the ampere-turns in its window: n passes of the conductor read n times
// its current, one of n parallel conductors 1/n of the leg's (common textbook).
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

// rootOfThree names the ratio of line voltage to voltage to neutral of a balanced wye,
// U = sqrt(3) V (common textbook), within 3 % (our choice).
func rootOfThree(ratio float64) string {
	switch {
	case math.Abs(ratio/math.Sqrt(3)-1) < 0.03:
		return "; the root of three: line voltage against voltage to neutral"
	case math.Abs(ratio*math.Sqrt(3)-1) < 0.03:
		return "; one over the root of three: voltage to neutral against line voltage"
	}
	return ""
}

// caution says what comes before a hand goes near what was found.
func (r *Result) caution() {
	r.Cautions = append(r.Cautions, "reading a clamp or a voltmeter at a live panel is work for those qualified, with "+
		"arc-flash protection; local codes and licensed practice come first")
	for _, e := range r.Explanations {
		switch {
		case e.Cause == Nothing:
			r.Cautions = slices.Insert(r.Cautions, 0, fmt.Sprintf("the CT of channel %d may be open, with a dangerous "+
				"voltage at its leads: keep away from them, no clamp near them, no further load; take the primary load off first",
				e.Channels[0]))
		case e.Quantity == reading.Current.String() &&
			(e.Cause == OneOdd || e.Cause == Unlike || e.Cause == SetWrong || e.Cause == Exchanged):
			r.Cautions = append(r.Cautions, "look at a CT's plate and core with the panel locked out and proved dead; never "+
				"open the secondary of a current-output CT while its primary carries current")
			return
		}
	}
}
