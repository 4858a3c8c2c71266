package serve

import (
	"sync"

	"legwork/probe/regmap"
)

// Bank holds the registers of one unit. Whoever writes does it within Update,
// so that no reader sees half of a change.
type Bank struct {
	mu     sync.RWMutex
	tables [2]map[uint16]uint16
}

// NewBank is a bank without registers.
func NewBank() *Bank {
	return &Bank{tables: [2]map[uint16]uint16{{}, {}}}
}

// Update lets f write registers, which come into being by that.
func (b *Bank) Update(f func(w Writer)) {
	b.mu.Lock()
	defer b.mu.Unlock()
	f(Writer{b})
}

// Writer writes into a bank during an Update. It is a regmap.Bank.
type Writer struct{ bank *Bank }

var _ regmap.Bank = Writer{}

// SetWords writes registers from an address on.
func (w Writer) SetWords(t regmap.Table, address uint16, words []uint16) {
	for i, x := range words {
		w.bank.tables[t][address+uint16(i)] = x
	}
}

// read gives n registers. Those between two that exist read as 0, as in most
// meters, unless strict; beyond the last, or before the first, there are none.
func (b *Bank) read(t regmap.Table, address, n int, strict bool) ([]uint16, bool) {
	b.mu.RLock()
	defer b.mu.RUnlock()
	table := b.tables[t]
	words := make([]uint16, n)
	for i := range words {
		if address+i > 0xFFFF {
			return nil, false
		}
		x, exists := table[uint16(address+i)]
		if !exists && (strict || i == 0 || i == n-1) {
			return nil, false
		}
		words[i] = x
	}
	return words, true
}
