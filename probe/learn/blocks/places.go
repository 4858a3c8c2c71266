package blocks

import "slices"

// usual are addresses at which blocks of registers like to begin: at the start,
// at round numbers of both sorts, and one before them, where the list counts
// from 1. Common practice, no source.
func usual() []int {
	all := []int{0, 1, 2, 4, 6, 8, 10, 12, 16, 20, 24, 30, 32, 40, 48, 50, 60, 64, 72, 80, 88, 96}
	for _, by := range []struct{ step, last int }{{100, 2000}, {256, 4096}, {500, 6000}, {1000, 10000}, {4096, 65535},
		{10000, 60000}} {
		for at := by.step; at <= by.last; at += by.step {
			all = append(all, at)
		}
	}
	return all
}

// Distances in registers; our choice.
const (
	fine   = 8   // between the places near what was found
	middle = 16  // the finest grid over all on a slow line
	near   = 640 // how far from what was found is looked finely
	low    = 2048
	past   = 48 // how far behind a usual place a block may begin
)

// firstPlaces are the usual ones, rounder ones first.
func firstPlaces() []int { return distinct(usual()) }

// morePlaces are those a little behind the usual ones, and the low ones.
func morePlaces() []int {
	var all []int
	for _, at := range usual() {
		for d := middle; d <= past; d += middle {
			all = append(all, at+d)
		}
	}
	for at := 0; at < low; at += middle {
		all = append(all, at)
	}
	return distinct(all)
}

// gridPlaces are those of a grid in a span, on multiples of its step.
func gridPlaces(s span, step int) []int {
	var all []int
	for at := (s.from + step - 1) / step * step; at < s.to; at += step {
		all = append(all, at)
	}
	return all
}

func distinct(all []int) []int {
	seen := map[int]bool{}
	return slices.DeleteFunc(all, func(at int) bool {
		was := seen[at]
		seen[at] = true
		return was
	})
}
