package regmap

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"legwork/probe/reading"
)

// On random maps the plan costs no more than the best of every way to cut the
// sorted spans into requests, whatever a request costs and a meter allows.
func TestPlanIsTheOptimum(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 1))
	for round := range 300 {
		m := randomMap(rng)
		for _, l := range []Limits{{}, {MaxRegisters: 20}, {RoundTrip: 12}, {NoBridging: true},
			{RoundTrip: 1 + rng.IntN(40), MaxRegisters: 4 + rng.IntN(30)}, {NoBridging: true, MaxRegisters: 4 + rng.IntN(8)}} {
			plan := m.Plan(l)
			requireCovers(t, m, plan, l)
			require.Equal(t, exhaustive(m.spans(), l), l.cost(plan), "round %d, limits %+v", round, l)
		}
	}
}

func (l Limits) cost(plan []Request) int {
	cost := 0
	for _, r := range plan {
		cost += l.roundTrip() + int(r.Count)
	}
	return cost
}

// randomMap has points of all lengths, some of them with an exponent that stands
// elsewhere.
func randomMap(rng *rand.Rand) *Map {
	m := &Map{}
	at := 0
	for range 1 + rng.IntN(7) {
		at += rng.IntN(4) * rng.IntN(12)
		n := []int{1, 2, 4}[rng.IntN(3)]
		p := Point{Table: Table(rng.IntN(2)), Address: at, Count: n, ExponentAt: -1}
		if rng.IntN(5) == 0 {
			at += rng.IntN(6) + 1 // where the parser lets it: within no other value
			p.ExponentAt = at + n - 1
		}
		m.points = append(m.points, p)
		at += n
	}
	return m
}

// Of every way to lengthen the requests of a plan, the one taken leaves the
// fewest alike, and where none are alike reads the fewest registers.
func TestRequestsAreMadeUnlike(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 2))
	told := map[string]int{}
	for round := range 400 {
		m := randomMap(rng)
		l := Limits{RoundTrip: 1 + rng.IntN(8), MaxRegisters: []int{0, 6, 12}[rng.IntN(3)], NoBridging: rng.IntN(4) == 0}
		before := m.Plan(l)
		unlike := l
		unlike.Unlike = true
		after := m.Plan(unlike)
		requireCovers(t, m, after, l)
		most := unlike.rooms(before, m.spans())
		for i := range before {
			require.Equal(t, before[i].Address, after[i].Address)
			require.GreaterOrEqual(t, after[i].Count, before[i].Count)
			require.LessOrEqual(t, int(after[i].Count), most[i])
		}
		lengths, registers := everyLengthening(before, most)
		require.Equal(t, lengths, distinct(after), "round %d: %v, %v", round, before, after)
		switch {
		case lengths < len(before):
			told["some must stay alike"]++
		case distinct(before) < len(before):
			told["lengthened"]++
			require.Equal(t, registers, l.cost(after)-len(after)*l.roundTrip(), "round %d: %v, %v", round, before, after)
		default:
			told["unlike already"]++
			require.Equal(t, before, after)
		}
	}
	require.Len(t, told, 3, "all three come up: %v", told)
}

// A request that has no room keeps its length, and the other one gives way.
func TestTheOneWithRoomGivesWay(t *testing.T) {
	m := &Map{points: []Point{{Address: 0, Count: 2, ExponentAt: -1}, {Address: 50, Count: 2, ExponentAt: -1}}}
	require.Equal(t, []Request{{Holding, 0, 3}, {Holding, 50, 2}}, m.Plan(Limits{RoundTrip: 5, Unlike: true}))
	require.Equal(t, []Request{{Holding, 0, 2}, {Holding, 50, 2}}, m.Plan(Limits{RoundTrip: 5, Unlike: true, NoBridging: true}))
}

func distinct(plan []Request) int {
	seen := map[uint16]bool{}
	for _, q := range plan {
		seen[q.Count] = true
	}
	return len(seen)
}

// everyLengthening tries all lengths of all requests: the most that can be
// unlike, and the fewest registers with which they are.
func everyLengthening(plan []Request, most []int) (lengths, registers int) {
	var try func(i int, seen map[int]bool, sum int)
	try = func(i int, seen map[int]bool, sum int) {
		if i == len(plan) {
			if n := len(seen); n > lengths || n == lengths && sum < registers {
				lengths, registers = n, sum
			}
			return
		}
		// Beyond len(plan) more there is nothing to gain.
		for count := int(plan[i].Count); count <= min(most[i], int(plan[i].Count)+len(plan)); count++ {
			was := seen[count]
			seen[count] = true
			try(i+1, seen, sum+count)
			if !was {
				delete(seen, count)
			}
		}
	}
	try(0, map[int]bool{}, 0)
	return lengths, registers
}

// exhaustive tries every set of cuts between neighbours.
func exhaustive(spans []span, l Limits) int {
	best := -1
	for cuts := range 1 << (len(spans) - 1) {
		cost, from, ok := 0, 0, true
		for i := range spans {
			if i < len(spans)-1 && cuts>>i&1 == 0 {
				continue
			}
			size, fits := requestSize(spans[from:i+1], l)
			ok = ok && fits
			cost += l.roundTrip() + size
			from = i + 1
		}
		if ok && (best < 0 || cost < best) {
			best = cost
		}
	}
	return best
}

func requestSize(spans []span, l Limits) (int, bool) {
	size, named := spans[len(spans)-1].to-spans[0].from, 0
	for _, s := range spans {
		if s.table != spans[0].table {
			return 0, false
		}
		named += s.to - s.from
	}
	if l.NoBridging && named < size {
		return 0, false
	}
	return size, len(spans) == 1 || size <= l.maxRegisters()
}

func requireCovers(t *testing.T, m *Map, plan []Request, l Limits) {
	for _, s := range m.spans() {
		found := false
		for _, r := range plan {
			found = found || r.Table == s.table && int(r.Address) <= s.from && s.to <= int(r.Address+r.Count)
		}
		require.True(t, found, "%+v in %+v", s, plan)
	}
	for _, r := range plan {
		require.LessOrEqual(t, int(r.Count), max(l.maxRegisters(), 4))
	}
}

func TestMeterWithoutBridgesIsReadPieceByPiece(t *testing.T) {
	m := parseFile(t, "testdata/kiln.yaml")
	require.Equal(t, []Request{{Holding, 0, 4}, {Holding, 6, 2}, {Holding, 12, 2}, {Holding, 20, 1}, {Input, 30, 1}}, m.Plan(Limits{NoBridging: true}))
}

func FuzzParse(f *testing.F) {
	f.Add([]byte("legwork-map: 1\npoints:\n  voltage.1: {at: 0, type: f32}\n  current.1: {at: 2, type: f32}\n  power.1: {at: 4, type: s64, exponent_at: 9, absent: [1]}\n"))
	f.Add([]byte("legwork-map: 1\npoints: {pf.1: {at: 5, type: u16, sign: lead}, model: {at: 9, type: text, length: 3}}"))
	f.Add([]byte("a: &b [*b]\n<<: x\n---\n..."))
	f.Add([]byte("\"\xff\": {\x00: ]"))
	f.Fuzz(func(t *testing.T, src []byte) {
		m, err := Parse("m.yaml", src)
		if err != nil { // law 1: every fault has a place and says something
			var faults *Faults
			require.ErrorAs(t, err, &faults)
			for _, one := range faults.List {
				require.Positive(t, one.Line)
				require.Positive(t, one.Column)
				require.NotEmpty(t, one.What)
				require.NotContains(t, fmt.Sprint(one.What, one.Mend), "\n")
			}
			return
		}
		plan := m.Plan(Limits{})
		requireCovers(t, m, plan, Limits{}) // law 2: the plan brings every point
		bank := words{}
		r := reading.Reading{Channels: make([]reading.Channel, 3)}
		m.Encode(&r, bank)
		m.Decode(bank.answer(plan), &r) // law 3: what was encoded can be decoded
		require.Len(t, m.Explain(bank.answer(plan)), len(m.Points()))
	})
}
