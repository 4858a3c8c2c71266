package learn

import (
	"math/rand/v2"
	"testing"

	"legwork/sim"
)

// What it takes to understand a meter, over a few layouts: with nothing measured, and with
// everything.
func BenchmarkUnderstand(b *testing.B) {
	for _, g := range []given{nothing, measured} {
		b.Run([...]string{nothing: "nothing measured", measured: "V, A, kW measured"}[g], func(b *testing.B) {
			for n := 0; b.Loop(); n++ {
				b.StopTimer()
				seed := uint64(50000 + n%8)
				im, last := imageOf(sim.NewLayout(seed), rounds)
				told := measure(last, rand.New(rand.NewPCG(seed, 5)))
				b.StartTimer()
				if g == nothing {
					told = nil
				}
				Understand(im, told)
			}
		})
	}
}
