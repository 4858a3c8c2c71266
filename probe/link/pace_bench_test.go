//go:build linux || darwin

package link

import (
	"fmt"
	"sync/atomic"
	"testing"

	"github.com/stretchr/testify/require"

	"legwork/sim/serve"
)

// BenchmarkPacedWire reads 60 registers over a pseudo-terminal whose far end
// keeps the pace of a serial line, and reports the share of the time that the
// line itself needs (8 and 125 characters, and one silence of 3.5) .
func BenchmarkPacedWire(b *testing.B) {
	for _, baud := range []int{9600, 19200, 115200} {
		b.Run(fmt.Sprint(baud), func(b *testing.B) {
			var number atomic.Uint64
			s := serve.New(map[byte]*serve.Unit{1: markedUnit(&number)})
			name := lineTo(b, s, serve.Line{Baud: baud})
			c, err := OpenRTU(b.Context(), Serial{Port: name, Baud: baud}, Options{})
			require.NoError(b, err)
			defer c.Close()
			for b.Loop() {
				_, err := c.Registers(b.Context(), Read{1, ReadHolding, 0, 60})
				require.NoError(b, err)
			}
			p := Serial{Baud: baud, StopBits: 1}.pace()
			ideal := p.time(8+125) + p.gap()
			b.ReportMetric(float64(ideal)/(float64(b.Elapsed())/float64(b.N)), "of-wire")
		})
	}
}
