package learn

import (
	"fmt"
	"math/rand/v2"
	"os"
	"strings"
	"testing"

	"legwork/sim"
)

func TestDebugOne(t *testing.T) {
	for _, f := range strings.Fields(os.Getenv("SEEDS")) {
		var seed uint64
		fmt.Sscan(f, &seed)
		l := sim.NewLayout(seed)
		im, last := imageOf(l, rounds)
		all := measure(last, rand.New(rand.NewPCG(seed, 5)))
		r := Understand(im, all)
		wrong := faults(l, r.Map(), last)
		fmt.Printf("== %d %s %v settled %v channels %d of %d ask %v\n", seed, l.Service, l.Made, r.Settled, r.Channels, len(last.Channels), r.Ask)
		for _, p := range l.Map().Points() {
			if p.Quantity <= 5 || os.Getenv("ALL") != "" {
				fmt.Printf("   true %s %s at %d %s %v %g table %v = %v\n", p.String(), "", p.Address, p.Type, p.Order, p.Scale, p.Table, last.Number(p.Point))
			}
		}
		for _, p := range append(r.Points, r.Open...) {
			fmt.Printf("   found %s %.3f %s reads %g\n", p.line(), p.Probability, wrong[p.Point.Point.String()], p.Reads)
		}
		for _, m := range all {
			fmt.Printf("   measured %v %g\n", m.Point, m.Value)
		}
		if os.Getenv("DUMP") != "" {
			for _, b := range im.Blocks {
				fmt.Printf("   block %v %d:", b.Table, b.At)
				n := len(b.Rounds)
				if n == 0 {
					continue
				}
				for i, w := range b.Rounds[n-1] {
					if i%10 == 0 {
						fmt.Printf("\n    %5d", b.At+i)
					}
					fmt.Printf(" %5d", w)
				}
				fmt.Println()
			}
		}
	}
}
