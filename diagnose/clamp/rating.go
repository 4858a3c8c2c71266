package clamp

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
)

// Rating is what stands on a CT, or what the meter is set to. Secondary is 0
// where it isn't known or the CT gives no current.
type Rating struct {
	Primary   float64 `json:"primary"`             // A
	Secondary float64 `json:"secondary,omitempty"` // A
}

// String is the rating as it stands on the plate.
func (r Rating) String() string {
	if r.Secondary == 0 {
		return fmt.Sprintf("%g A", r.Primary)
	}
	return fmt.Sprintf("%g/%g A", r.Primary, r.Secondary)
}

var ratingForm = regexp.MustCompile(`^([0-9]+(?:\.[0-9]+)?) ?A?(?: ?[/:] ?(1|5) ?A?)?$`)

// ParseRating reads what a meter's CTs are set to: "200/5", "200:5 A", "200 A".
// Rated secondary currents are 1 A and 5 A (IEC 61869-2, 5.202).
func ParseRating(text string) (Rating, error) {
	m := ratingForm.FindStringSubmatch(strings.Join(strings.Fields(text), " "))
	var r Rating
	if m != nil {
		r.Primary, _ = strconv.ParseFloat(m[1], 64) // the pattern lets nothing else through
		r.Secondary, _ = strconv.ParseFloat(m[2], 64)
	}
	if !(r.Primary > 0) || r.Primary > most {
		return Rating{}, fmt.Errorf("%q is not a rating; say `200/5`, `200/1` or `200 A`", text)
	}
	return r, nil
}

// standardPrimaries lists the rated primary currents there are, in A: IEC
// 61869-2, 5.201 (10 - 12.5 - 15 - 20 - 25 - 30 - 40 - 50 - 60 - 75 and their
// decimal multiples), and those usual in North America beside them (IEEE
// C57.13, from memory: 250, 800, 1200, 1600 and so on, all to 5 A).
func standardPrimaries() []float64 {
	var all []float64
	for _, decade := range []float64{1, 10, 100} {
		for _, a := range []float64{10, 12.5, 15, 20, 25, 30, 40, 50, 60, 75} {
			all = append(all, a*decade)
		}
	}
	all = append(all, 80, 120, 160, 800, 1200, 1600, 10000) // 10 000 ends the list
	slices.Sort(all)
	return slices.Compact(all)
}

// Explained is a rating that would read a channel's ratio.
type Explained struct {
	Rating Rating  `json:"rating"`
	Reads  float64 `json:"reads"` // the ratio that it would read
}

// mostRatings are named for one channel.
const mostRatings = 3

// ratingsFor lists the standard ratings other than what the meter is set to
// that read a ratio between two bounds, the nearest to ratio first; those of the
// other secondary current only where none else does, or of the same primary.
func ratingsFor(set Rating, ratio, low, high float64) []Explained {
	if set.Primary == 0 {
		return nil
	}
	all := withSecondary(set, set.Secondary, low, high)
	if set.Secondary != 0 {
		for _, r := range withSecondary(set, 6-set.Secondary, low, high) { // 5 for 1 and 1 for 5
			if len(all) == 0 || r.Rating.Primary == set.Primary {
				all = append(all, r)
			}
		}
	}
	slices.SortStableFunc(all, func(a, b Explained) int {
		return compareDistance(a.Reads, b.Reads, ratio)
	})
	return all[:min(len(all), mostRatings)]
}

// withSecondary lists the standard ratings of one secondary current that read
// between two bounds.
func withSecondary(set Rating, second, low, high float64) []Explained {
	var all []Explained
	for _, primary := range standardPrimaries() {
		// A CT of primary:second gives I second/primary; the meter makes of it
		// that times set.Primary/set.Secondary.
		reads := set.Primary / primary
		if set.Secondary != 0 {
			reads *= second / set.Secondary
		}
		if r := (Rating{primary, second}); r != set && low <= reads && reads <= high {
			all = append(all, Explained{Rating: r, Reads: reads})
		}
	}
	return all
}

// compareDistance orders two ratios by how near they are to a third; a billionth
// is no difference.
func compareDistance(a, b, to float64) int {
	// Ratios lie as far apart as their logarithms.
	da, db := math.Abs(math.Log(a/to)), math.Abs(math.Log(b/to))
	switch {
	case da < db-1e-9:
		return -1
	case db < da-1e-9:
		return 1
	}
	return 0
}
