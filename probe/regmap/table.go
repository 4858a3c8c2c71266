package regmap

import (
	"cmp"
	"fmt"
	"slices"
)

// Table is one of the two tables of registers that can be read.
type Table uint8

// The tables.
const (
	Holding Table = iota // holding registers, function 3
	Input                // input registers, function 4
)

// Function is the Modbus function that reads the table.
func (t Table) Function() byte { return byte(3 + t) }

// String is "holding" or "input".
func (t Table) String() string {
	if t == Input {
		return "input"
	}
	return "holding"
}

// Request is one run of registers to ask for; Address counts from 0 as on the wire.
type Request struct {
	Table          Table
	Address, Count uint16
}

// String names the run: "holding 0-59".
func (r Request) String() string {
	return fmt.Sprintf("%s %s", r.Table, registerRange(int(r.Address), int(r.Count)))
}

// Block is an answered request.
type Block struct {
	Request
	Words []uint16
}

// at gives n words from an address on, or nil where the block lacks them.
func (b Block) at(t Table, address, n int) []uint16 {
	from := address - int(b.Address)
	if b.Table != t || from < 0 || from+n > len(b.Words) {
		return nil
	}
	return b.Words[from : from+n]
}

// Limits say what a meter and its line can take. The zero value is useful.
type Limits struct {
	// MaxRegisters in one request; 0 is 125 (MODBUS Application Protocol
	// V1.1b3, 6.3), the most that there is.
	MaxRegisters int
	// NoBridging keeps requests to registers that the map names, for a meter
	// that refuses the others.
	NoBridging bool
	// RoundTrip is what one more request costs, in registers; 0 is 125: on a
	// network a round trip costs more than any gap that can be bridged. On a
	// line at 9600 baud it is about 25 (13 characters of overhead, 7 of silence
	// and a turnaround of some 20 ms, at two characters a register).
	RoundTrip int
	// Unlike gives no two requests of a plan the same length, where the map
	// allows it: on a serial line that tells a late answer from the one that is
	// waited for. Registers between two that the map names are added for it.
	Unlike bool
}

func (l Limits) maxRegisters() int {
	if l.MaxRegisters <= 0 || l.MaxRegisters > 125 {
		return 125
	}
	return l.MaxRegisters
}

func (l Limits) roundTrip() int {
	if l.RoundTrip <= 0 {
		return 125
	}
	return l.RoundTrip
}

// span is registers that must come with one request.
type span struct {
	table    Table
	from, to int // to is the first one after
	text     bool
}

// Plan gives the cheapest requests that bring every point: the fewest, and of
// those the ones with the fewest registers (unless RoundTrip says otherwise).
func (m *Map) Plan(l Limits) []Request {
	spans := l.cutTexts(m.spans())
	n := len(spans)
	cost, first := make([]int, n+1), make([]int, n+1)
	for i := 1; i <= n; i++ {
		cost[i] = -1
		for j := i; j >= 1; j-- {
			size, ok := l.together(spans[j-1 : i])
			if !ok {
				break
			}
			if c := cost[j-1] + l.roundTrip() + size; cost[i] < 0 || c < cost[i] {
				cost[i], first[i] = c, j
			}
		}
	}
	var plan []Request
	for i := n; i > 0; i = first[i] - 1 {
		from, to := spans[first[i]-1], spans[i-1]
		plan = append(plan, Request{from.table, uint16(from.from), uint16(to.to - from.from)})
	}
	slices.Reverse(plan)
	if l.Unlike {
		l.makeUnlike(plan, spans)
	}
	return plan
}

// makeUnlike lengthens requests until no two are alike, by registers that lie
// between the first and the last that the map names in a table. As many as can
// are made unlike, with the fewest registers; the others stay as they are.
//
// Lengths are given out from the shortest on, each to the request that may have
// it and has the least room above: earliest deadline first, which finds a place
// for each wherever one exists (M. L. Pinedo, Scheduling, unit tasks with
// release dates and deadlines; from memory).
func (l Limits) makeUnlike(plan []Request, spans []span) {
	most := l.rooms(plan, spans)
	left := map[int]bool{}
	for i := range plan {
		left[i] = true
	}
	for count := 1; len(left) > 0 && count <= 1<<16; count++ {
		best := -1
		for i := range plan {
			switch {
			case !left[i] || int(plan[i].Count) > count:
			case most[i] < count:
				delete(left, i)
			case best < 0 || most[i] < most[best]:
				best = i
			}
		}
		if best >= 0 {
			plan[best].Count = uint16(count)
			delete(left, best)
		}
	}
}

// rooms is the longest that each request may become.
func (l Limits) rooms(plan []Request, spans []span) []int {
	last := map[Table]int{}
	for _, s := range spans {
		last[s.table] = max(last[s.table], s.to)
	}
	most := make([]int, len(plan))
	for i, q := range plan {
		most[i] = int(q.Count)
		if !l.NoBridging {
			most[i] = max(most[i], min(l.maxRegisters(), last[q.Table]-int(q.Address)))
		}
	}
	return most
}

// together is the size of one request for all of the spans. A single span is
// always allowed: it can't be split.
func (l Limits) together(s []span) (int, bool) {
	size := s[len(s)-1].to - s[0].from
	if len(s) == 1 {
		return size, true
	}
	if s[0].table != s[len(s)-1].table || size > l.maxRegisters() {
		return 0, false
	}
	return size, !l.NoBridging || s[0].to >= s[1].from
}

// cutTexts cuts texts that are longer than a request may be. A number can't be
// read in two requests, since it may change between them; a text may.
func (l Limits) cutTexts(spans []span) []span {
	var all []span
	for _, s := range spans {
		for s.text && s.to-s.from > l.maxRegisters() {
			all = append(all, span{s.table, s.from, s.from + l.maxRegisters(), true})
			s.from += l.maxRegisters()
		}
		all = append(all, s)
	}
	return all
}

// spans lists what must be read, in order, each once.
func (m *Map) spans() []span {
	var all []span
	for _, p := range m.points {
		all = append(all, span{p.Table, p.Address, p.Address + p.Count, p.Quantity.IsText()})
		if p.ExponentAt >= 0 {
			all = append(all, span{p.Table, p.ExponentAt, p.ExponentAt + 1, false})
		}
	}
	slices.SortFunc(all, func(a, b span) int {
		return cmp.Or(cmp.Compare(a.table, b.table), cmp.Compare(a.from, b.from), cmp.Compare(a.to, b.to))
	})
	return slices.Compact(all)
}

func registerRange(address, count int) string {
	if count <= 1 {
		return fmt.Sprint(address)
	}
	return fmt.Sprintf("%d-%d", address, address+count-1)
}
