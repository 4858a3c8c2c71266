package clamp

import (
	"fmt"
	"math"
	"strings"

	"legwork/probe/reading"
)

// exchanges lists the ways in which exchanged legs explain every difference;
// where two exchanged legs do, a roll of three isn't listed.
// Beside loads that may have drifted the fit must be a close one: slack is what it may be
// off by beyond the doubt of the instrument, as a share.
func exchanges(judged []Compared, slack float64) []Explanation {
	var all []Explanation
	for _, order := range orders(len(judged)) {
		rolls := len(order) == 3 && order[0] != 0 && order[1] != 1 && order[2] != 2
		if !fits(judged, order, slack) || rolls && len(all) > 0 && len(all[0].Channels) == 2 {
			continue
		}
		e := Explanation{Cause: Exchanged, Quantity: judged[0].Quantity}
		verb, why := "has", "voltage leads exchanged, or legs called by each other's names"
		if e.Quantity == reading.Current.String() {
			verb, why = "carries", "CTs on each other's legs, or legs that were called by each other's names at the clamp"
		}
		var words []string
		for i, j := range order {
			if i == j {
				continue
			}
			e.Channels, e.Legs = append(e.Channels, judged[i].Channel), append(e.Legs, judged[j].Leg)
			words = append(words, fmt.Sprintf("channel %d reads what leg %d %s", judged[i].Channel, judged[j].Leg, verb))
		}
		e.Words = strings.Join(words, ", ") + ": " + why
		all = append(all, e)
	}
	return all
}

// fits reports that channel i reads what the instrument read of leg order[i].
func fits(judged []Compared, order []int, slack float64) bool {
	for i, j := range order {
		c, leg := judged[i], judged[j]
		// High = meter/(value - half), so half = value - meter/High, A or V.
		half := leg.Instrument - leg.Meter.Or(0)/leg.High.Or(math.Inf(1))
		if math.Abs(c.Meter.Or(0)-leg.Instrument) > half+slack*leg.Instrument {
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
