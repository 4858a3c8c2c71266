package watch

import (
	"slices"
	"time"
)

// Event is something that happened, in one line.
type Event struct {
	At   time.Time
	Text string
	Loud bool // to be seen from afar: verdicts, and whatever is a danger
}

// mostEvents is how many are kept.
const mostEvents = 500

// events keeps the latest ones.
type events struct {
	ring  []Event
	total int // that there ever were
}

func (e *events) add(one Event) {
	if len(e.ring) < mostEvents {
		e.ring = append(e.ring, one)
	} else {
		e.ring[e.total%mostEvents] = one
	}
	e.total++
}

// last is the latest n, the newest first.
func (e *events) last(n int) []Event {
	n = max(0, min(n, len(e.ring)))
	list := make([]Event, n)
	for i := range list {
		list[i] = e.ring[(e.total-1-i)%len(e.ring)]
	}
	return list
}

// since is what came after the first seen ones, the oldest first.
func (e *events) since(seen int) []Event {
	list := e.last(e.total - seen)
	slices.Reverse(list)
	return list
}
