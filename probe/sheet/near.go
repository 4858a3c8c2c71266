package sheet

import "strings"

// Suggest says which of names was probably meant, or all of them.
func Suggest(name string, names []string) string {
	if near := DidYouMean(name, names); near != "" {
		return near
	}
	return "known are " + strings.Join(names, ", ")
}

// DidYouMean asks for the near one of names; it is empty where none is near.
func DidYouMean(name string, names []string) string {
	if near := Near(name, names); near != "" {
		return "did you mean " + near + "?"
	}
	return ""
}

// Near is the one of names that was probably meant, or empty.
func Near(name string, names []string) string {
	best, least := "", 2+len(name)/3
	for _, n := range names {
		if d := distance(strings.ToLower(name), n); d < least {
			best, least = n, d
		}
	}
	return best
}

// distance is how many letters must be added, dropped, changed or exchanged
// with their neighbour (optimal string alignment).
func distance(a, b string) int {
	before, last := make([]int, len(b)+1), make([]int, len(b)+1)
	for j := range last {
		last[j] = j
	}
	for i := 1; i <= len(a); i++ {
		row := make([]int, len(b)+1)
		row[0] = i
		for j := 1; j <= len(b); j++ {
			change := 1
			if a[i-1] == b[j-1] {
				change = 0
			}
			row[j] = min(last[j]+1, row[j-1]+1, last[j-1]+change)
			if i > 1 && j > 1 && a[i-1] == b[j-2] && a[i-2] == b[j-1] {
				row[j] = min(row[j], before[j-2]+1)
			}
		}
		before, last = last, row
	}
	return last[len(b)]
}
