package blocks

import "slices"

// usual are addresses at which blocks of registers like to begin: at the start,
// and at round numbers of both sorts. Common practice, no source.
func usual() []int {
	all := []int{0, 1, 2, 4, 6, 8, 10, 12, 16, 20, 24, 30, 32, 40, 48, 50, 60, 64, 72, 80, 88, 96}
	return slices.Concat(all, multiples(100, 2000), multiples(256, 4096), multiples(500, 6000), round())
}

// round are the roundest of them.
func round() []int {
	return slices.Concat(multiples(1000, 10000), multiples(4096, lastAddress), multiples(10000, 60000))
}

func multiples(of, last int) []int {
	var all []int
	for at := of; at <= last; at += of {
		all = append(all, at)
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
	narrow = 8  // a block that has less may have such beside it
	close  = 64 // how far from a narrow block every register is asked
)

// firstPlaces are the usual ones, rounder ones first.
func firstPlaces() []int { return distinct(usual()) }

// nextPlaces are those one behind hundreds and the roundest, where the list counts from 1.
func nextPlaces() []int {
	all := append(multiples(100, 2000), round()...)
	for i := range all {
		all[i]++
	}
	return distinct(all)
}

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

// closePlaces are the registers beside what a table has, the nearest first.
func (t *table) closePlaces() []int {
	var all []int
	known := slices.DeleteFunc(t.known(), func(s span) bool { return len(t.cut(s)) == 0 })
	for d := range close {
		for _, s := range known {
			all = append(all, s.to+d, s.from-1-d)
		}
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
