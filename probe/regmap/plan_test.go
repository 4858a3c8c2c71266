package regmap

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"legwork/probe/reading"
)

// On random maps the plan costs no more than the best of every way to cut the
// sorted spans into requests.
func TestPlanIsTheOptimum(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 1))
	for round := range 300 {
		m := randomMap(rng)
		for _, l := range []Limits{{}, {MaxRegisters: 20}, {RoundTrip: 12}, {NoBridging: true}} {
			plan := m.Plan(l)
			requireCovers(t, m, plan, l)
			cost := 0
			for _, r := range plan {
				cost += l.roundTrip() + int(r.Count)
			}
			require.Equal(t, exhaustive(m.spans(), l), cost, "round %d, limits %+v", round, l)
		}
	}
}

func randomMap(rng *rand.Rand) *Map {
	m := &Map{}
	at := 0
	for range 1 + rng.IntN(9) {
		at += rng.IntN(4) * rng.IntN(12)
		n := []int{1, 2, 4}[rng.IntN(3)]
		m.points = append(m.points, Point{Table: Table(rng.IntN(2)), Address: at, Count: n, ExponentAt: -1})
		at += n
	}
	return m
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
