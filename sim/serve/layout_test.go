package serve

import (
	"encoding/binary"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"legwork/sim"
)

// Every register that a layout has is served, the one before and the one after
// are refused, and so is a request that is too long.
func TestLayoutHasHoles(t *testing.T) {
	l := sim.NewLayout(7)
	at := time.Unix(1000, 0)
	u := &Unit{Bank: NewBank(), Strict: true, MostRegisters: l.MostRegisters}
	u.Before = func() { u.Bank.Update(func(w Writer) { l.Fill(at, w) }) }
	ask := func(function byte, from, n int) []byte {
		pdu := binary.BigEndian.AppendUint16([]byte{function}, uint16(from))
		return u.answer(binary.BigEndian.AppendUint16(pdu, uint16(n)))
	}
	extents := l.Extents()
	last := -1
	for i, q := range extents {
		from, n := int(q.Address), int(q.Count)
		require.Len(t, ask(q.Table.Function(), from, min(n, l.MostRegisters)), 2+2*min(n, l.MostRegisters))
		require.Greater(t, from, last)
		last = from + n
		if i+1 == len(extents) || int(extents[i+1].Address) > last {
			require.Equal(t, []byte{q.Table.Function() | 0x80, illegalAddress}, ask(q.Table.Function(), last-1, 2))
		}
	}
	require.Equal(t, []byte{0x83, illegalValue}, ask(3, int(extents[0].Address), l.MostRegisters+1))
}
