package loadmodel

import (
	"testing"

	"github.com/stretchr/testify/require"

	"legwork/diagnose/wiring"
)

// The tables of a wye, as the first verdict with a fault needs them.
func BenchmarkDerive(b *testing.B) {
	s, err := wiring.ParseService("120/208Y")
	require.NoError(b, err)
	for name, panel := range map[string]Panel{"ordinary": Ordinary, "one-sided": OneSided} {
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				Derive(ShapeOf(s), Sort{Panel: panel})
			}
		})
	}
}
