package blocks

import (
	"context"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"legwork/probe/link"
	"legwork/probe/regmap"
	"legwork/sim"
)

// layoutMeter is a meter of the bench of layouts.
type layoutMeter struct {
	*fake
	layout *sim.Layout
	line   int // baud; 0 is a network
	words  map[regmap.Table]map[int]uint16
}

// SetWords is that of a regmap.Bank.
func (m *layoutMeter) SetWords(t regmap.Table, address uint16, words []uint16) {
	for i, w := range words {
		m.words[t][int(address)+i] = w
	}
}

// Registers answers as the layout has it, and takes what a line does: 11 bits a
// character, 8 and 5 of them beside the registers, 3.5 between frames (MODBUS
// over Serial Line V1.02, 2.5.1), and 20 ms for the meter.
func (m *layoutMeter) Registers(ctx context.Context, r link.Read) ([]uint16, error) {
	m.asked++
	characters := 8 + 5 + 7
	defer func() {
		m.now = m.now.Add(time.Millisecond)
		if m.line > 0 {
			m.now = m.now.Add(20*time.Millisecond + time.Duration(characters)*11*time.Second/time.Duration(m.line))
		}
	}()
	t := regmap.Table(r.Function - link.ReadHolding)
	if int(r.Count) > m.layout.MostRegisters {
		return nil, &link.Error{Op: "read", Err: link.IllegalDataValue}
	}
	words := make([]uint16, r.Count)
	if m.words == nil || m.now.Second() != m.layout.At(m.now.Add(-time.Hour)).At.Second() {
		m.words = map[regmap.Table]map[int]uint16{regmap.Holding: {}, regmap.Input: {}}
		m.layout.Fill(m.now, m)
	}
	for i := range words {
		w, is := m.words[t][int(r.Address)+i]
		if !is {
			return nil, &link.Error{Op: "read", Err: link.IllegalDataAddress}
		}
		words[i] = w
	}
	characters += 2 * len(words)
	return words, nil
}

// Every block of the layouts is found, at the price that is logged.
func TestLayoutsAreFound(t *testing.T) {
	if testing.Short() {
		t.Skip("long, and of one goroutine")
	}
	for _, line := range []int{0, 9600} {
		var asked []int
		var took []time.Duration
		missed, wide := 0, 0
		for seed := range uint64(200) {
			m := &layoutMeter{fake: newFake(), layout: sim.NewLayout(seed), line: line}
			im, err := Take(t.Context(), m, m.options())
			require.NoError(t, err, "seed %d", seed)
			for _, q := range m.layout.Extents() {
				if int(q.Count) < fine || line > 0 && int(q.Count) < middle {
					continue
				}
				if wide++; !m.shows(spans(im, q.Table), q) {
					missed++
					t.Logf("seed %d: %v of %v; found %v", seed, q, m.layout.Extents(), spans(im, q.Table))
				}
			}
			asked = append(asked, m.asked)
			took = append(took, m.now.Sub(newFake().now))
		}
		slices.Sort(asked)
		slices.Sort(took)
		n := len(asked)
		t.Logf("%d baud: %d of %d blocks missed; requests: median %d, 90 %% %d, most %d; time: median %v, 90 %% %v, "+
			"most %v", line, missed, wide, asked[n/2], asked[n*9/10], asked[n-1], took[n/2], took[n*9/10], took[n-1])
		require.Less(t, asked[n-1], 6000)
		require.Less(t, took[n-1], 6*time.Minute)
		require.LessOrEqual(t, missed*100, wide)
	}
}

// shows reports that all of a block that holds something is within what was found.
func (m *layoutMeter) shows(found []span, q regmap.Request) bool {
	for at := int(q.Address); at < int(q.Address)+int(q.Count); at++ {
		in := func(s span) bool { return at >= s.from && at < s.to }
		if !isBlank(m.words[q.Table][at]) && !slices.ContainsFunc(found, in) {
			return false
		}
	}
	return true
}
