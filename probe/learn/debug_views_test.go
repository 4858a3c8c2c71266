package learn

import (
	"fmt"
	"math/rand/v2"
	"os"
	"strings"
	"testing"

	"legwork/sim"
)

func TestDebugViews(t *testing.T) {
	for _, f := range strings.Fields(os.Getenv("SEEDS")) {
		var seed uint64
		fmt.Sscan(f, &seed)
		l := sim.NewLayout(seed)
		im, last := imageOf(l, rounds)
		all := measure(last, rand.New(rand.NewPCG(seed, 5)))
		lib := read(im)
		lib.measured = all
		ex := lib.explanations()
		vs := views(ex, all)
		fmt.Printf("== %d %s explanations %d views %d\n", seed, l.Service, len(ex), len(vs))
		for i, v := range vs {
			if i > 7 {
				break
			}
			v0, a0, w0 := v.likeness(vs[0])
			fmt.Printf(" %.4f n=%d V %d+%d %v/%d/%v ten %d  I %d+%d %v/%d  P %d+%d %v/%d %v  A 10^%d W 10^%d score %.1f shown %.1f alike %v %v %v\n", v.weight, len(v.v.of), v.v.at, v.v.stride, v.v.typ, v.v.size(), v.v.order, v.v.ten, v.i.at, v.i.stride, v.i.typ, v.i.size(), v.p.at, v.p.stride, v.p.typ, v.p.size(), v.p.order, v.ampere, v.watt(), v.score, v.shown, v0, a0, w0)
			for _, w := range v.weighed {
				fmt.Printf("      %s %.2f;", w.what, w.score)
			}
			fmt.Println()
		}
	}
}
