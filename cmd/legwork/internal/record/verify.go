package record

import "fmt"

// verify follows the chain from the head, or from the last entry where there is
// no head, back to the first, and says what isn't as it was written.
func (c *content) verify(h *head) []string {
	w := walk{c: c, visited: make([]bool, len(c.lines)), below: len(c.lines)}
	at := w.begin(h)
	for at >= 0 {
		at = w.back(at)
	}
	w.strangers()
	return w.found
}

// walk is a way back along the chain.
type walk struct {
	c       *content
	visited []bool
	below   int // the line at which the chain stands, from 0
	found   []string
}

func (w *walk) say(format string, args ...any) {
	w.found = append(w.found, fmt.Sprintf(format, args...))
}

// numbered finds the line of an entry by its number, the lowest in the file
// that isn't visited; -1 where there is none.
func (w *walk) numbered(number int) int {
	return w.find(func(l *line) bool { return l.entry.Number == number })
}

func (w *walk) sealed(seal string) int { return w.find(func(l *line) bool { return l.seal == seal }) }

func (w *walk) find(is func(*line) bool) int {
	for i := range w.c.lines {
		if l := &w.c.lines[i]; l.entry != nil && !w.visited[i] && is(l) {
			return i
		}
	}
	return -1
}

// highest is the greatest number that isn't visited yet, below a bound.
func (w *walk) highest(bound int) int {
	most := 0
	for i, l := range w.c.lines {
		if l.entry != nil && !w.visited[i] && l.entry.Number < bound {
			most = max(most, l.entry.Number)
		}
	}
	return most
}

const beyond = 1 << 30 // any number of an entry

// begin finds the line from which to go back, from 0, or -1.
func (w *walk) begin(h *head) int {
	top := w.highest(beyond)
	if h == nil {
		return w.numbered(top)
	}
	if at := w.sealed(h.Seal); at >= 0 && w.c.lines[at].entry.Number != h.Entries {
		w.say("the head file was changed: it counts %d, and its seal is that of entry %d",
			h.Entries, w.c.lines[at].entry.Number)
		return w.numbered(top)
	}
	next := w.numbered(h.Entries + 1)
	if next >= 0 && w.c.follows(next, h.Seal) {
		// Written whole before the head could be: it counts.
		w.beyondHead(h, top)
		return next
	}
	w.beyondHead(h, top)
	if at := w.sealed(h.Seal); at >= 0 {
		return at
	}
	return w.missing(h.Entries)
}

// beyondHead names entries that the head doesn't know.
func (w *walk) beyondHead(h *head, top int) {
	if top > h.Entries+1 {
		w.say("entries up to %d stand in the record, and the head file knows %d: they were inserted", top, h.Entries)
	}
}

func (c *content) follows(i int, seal string) bool {
	p := c.lines[i].entry.Previous
	return p != nil && *p == seal
}

// back marks a line as one of the chain and finds the line before it.
func (w *walk) back(at int) int {
	w.visited[at] = true
	e := w.c.lines[at].entry
	if at > w.below {
		w.say("entry %d stands out of order, on line %d", e.Number, at+1)
	}
	w.below = min(w.below, at)
	if e.Number <= 1 {
		if e.Previous != nil {
			w.say("entry %d was edited: it is the first and names one before it", e.Number)
		}
		return -1
	}
	if e.Previous == nil {
		w.say("entry %d was edited: it doesn't name the one before it", e.Number)
		return w.missing(e.Number - 1)
	}
	before := w.sealed(*e.Previous)
	if before < 0 {
		return w.missing(e.Number - 1)
	}
	return before
}

// missing says what became of the entry of a number, of which no line has the
// seal, and where the chain goes on.
func (w *walk) missing(number int) int {
	if at := w.numbered(number); at >= 0 {
		w.say("entry %d was edited (line %d)", number, at+1)
		return at
	}
	if i := w.below - 1; i >= 0 && w.c.lines[i].entry == nil && !w.visited[i] {
		w.visited[i] = true
		w.below = i
		w.say("entry %d was edited: line %d can't be read, %s", number, i+1, w.c.lines[i].why)
	} else {
		next := w.highest(number)
		w.say("%s", missingWords(next+1, number))
		number = next + 1
	}
	return w.numbered(w.highest(number))
}

func missingWords(from, to int) string {
	if from >= to {
		return fmt.Sprintf("entry %d is missing", to)
	}
	return fmt.Sprintf("entries %d to %d are missing", from, to)
}

// strangers names the lines that the chain didn't pass.
func (w *walk) strangers() {
	for i, l := range w.c.lines {
		switch {
		case w.visited[i]:
		case l.entry == nil:
			w.say("line %d is no entry: %s", i+1, l.why)
		default:
			w.say("line %d was inserted: it calls itself entry %d, and the chain doesn't know it", i+1, l.entry.Number)
		}
	}
}
