package sim

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"legwork/probe/reading"
	"legwork/probe/regmap"
)

// wordBank keeps the registers that were written.
type wordBank map[regmap.Table]map[int]uint16

func (b wordBank) SetWords(t regmap.Table, address uint16, words []uint16) {
	if b[t] == nil {
		b[t] = map[int]uint16{}
	}
	for i, w := range words {
		b[t][int(address)+i] = w
	}
}

// blocks reads what the layout lets be read.
func (b wordBank) blocks(l *Layout) []regmap.Block {
	var all []regmap.Block
	for _, q := range l.Extents() {
		words := make([]uint16, q.Count)
		for i := range words {
			words[i] = b[q.Table][int(q.Address)+i]
		}
		all = append(all, regmap.Block{Request: q, Words: words})
	}
	return all
}

// What is written into a layout's registers is what its own map reads there, by
// another decoder than the layout's.
func TestLayoutsHoldWhatTheirMapsSay(t *testing.T) {
	services, faults, most := map[string]int{}, 0, 0
	for seed := range uint64(300) {
		l := NewLayout(seed)
		services[l.Service]++
		if len(l.Made) > 0 {
			faults++
		}
		bank := wordBank{}
		at := time.Date(2026, 5, 4, 9, 0, 0, 0, time.UTC)
		want := l.At(at)
		l.Registers(&want, bank)
		got := reading.Reading{Channels: make([]reading.Channel, len(want.Channels))}
		m := l.Map()
		m.Decode(bank.blocks(l), &got)
		for _, p := range m.Points() {
			is, known := got.Number(p.Point).Get()
			require.True(t, known)
			should := want.Number(p.Point).Or(0)
			switch p.Quantity {
			case reading.PowerFactor:
				is, should = math.Abs(is), math.Abs(should)
			case reading.EnergyImport, reading.EnergyExport, reading.TotalEnergyImport, reading.TotalEnergyExport:
				continue // not in a reading of the place
			}
			require.InDelta(t, should, is, 0.51*p.Scale+1e-6*math.Abs(should)+0.2, "seed %d, %s", seed, p)
		}
		total := 0
		for _, q := range l.Extents() {
			total += int(q.Count)
		}
		most = max(most, total)
	}
	require.InDelta(t, 150, faults, 30)
	require.Greater(t, len(services), 8)
	require.Less(t, most, 1200)
}

// A layout is the same for the same seed and times.
func TestLayoutIsItsSeed(t *testing.T) {
	look := func() wordBank {
		l, bank := NewLayout(42), wordBank{}
		for i := range 5 {
			l.Fill(time.Unix(int64(1000+i), 0), bank)
		}
		return bank
	}
	require.Equal(t, look(), look())
}
