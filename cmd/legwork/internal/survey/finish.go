package survey

import (
	"cmp"
	"maps"
	"math"
	"slices"

	"legwork/cmd/legwork/internal/sites"
	"legwork/probe/reading"
)

// Finish counts, ranks, groups and balances the meters of a result.
func Finish(r *Result, list *sites.List) {
	r.Legwork = Version
	r.Counts = Counts{}
	for i := range r.Meters {
		r.Counts.Add(r.Meters[i].Status)
	}
	Rank(r.Meters)
	r.Sites = placesOf(r.Meters)
	r.Balances = balances(r.Meters, list)
	if r.Meters == nil {
		r.Meters = []Meter{}
	}
}

// Urgency orders meters whose lost power isn't known, or is alike: the least first.
var Urgency = map[Status]int{Fault: 0, Unreadable: 1, Undecided: 2, Agrees: 3}

// Rank orders meters by lost power, most first; those of which it isn't known
// come after, by status and name.
func Rank(all []Meter) {
	slices.SortFunc(all, func(a, b Meter) int {
		return cmp.Or(cmp.Compare(b.Lost.Or(math.Inf(-1)), a.Lost.Or(math.Inf(-1))), cmp.Compare(Urgency[a.Status],
			Urgency[b.Status]), cmp.Compare(a.Name, b.Name))
	})
}

func placesOf(all []Meter) []Place {
	found := map[string]*Place{}
	for _, m := range all {
		p := found[m.Site]
		if p == nil {
			p = &Place{Site: m.Site}
			found[m.Site] = p
		}
		p.Counts.Add(m.Status)
		if lost, known := m.Lost.Get(); known {
			p.Lost = reading.Known(p.Lost.Or(0) + lost)
		}
	}
	out := []Place{}
	for _, name := range slices.Sorted(maps.Keys(found)) {
		out = append(out, *found[name])
	}
	slices.SortStableFunc(out, func(a, b Place) int {
		return cmp.Compare(b.Lost.Or(math.Inf(-1)), a.Lost.Or(math.Inf(-1)))
	})
	return out
}
