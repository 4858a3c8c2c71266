package learn

import (
	"fmt"
	"math/rand/v2"
	"os"
	"strings"
	"testing"

	"legwork/sim"
)

func TestDebugAnchor(t *testing.T) {
	for _, f := range strings.Fields(os.Getenv("SEEDS")) {
		var seed uint64
		fmt.Sscan(f, &seed)
		l := sim.NewLayout(seed)
		im, last := imageOf(l, rounds)
		all := measure(last, rand.New(rand.NewPCG(seed, 5)))
		lib := read(im)
		lib.measured = all
		for n := 3; n >= 1; n-- {
			for _, c := range contexts() {
				for _, a := range lib.anchors(c, n) {
					fmt.Printf("n %d %v %v at %d+%d score %.1f\n", n, a.typ, a.order, a.at, a.stride, a.score)
					if a.at == 1291 {
						x := lib.explain(&a, c)
						fmt.Println(len(x))
						for i, e := range x {
							if i < 5 {
								fmt.Println(e.i.at, e.i.stride, e.p.at, e.p.stride, e.score, e.shown, e.weighed)
							}
						}
					}
				}
			}
		}
	}
}
