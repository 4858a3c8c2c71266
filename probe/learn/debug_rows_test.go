package learn

import (
	"fmt"
	"math/rand/v2"
	"os"
	"strings"
	"testing"

	"legwork/sim"
)

func TestDebugRows(t *testing.T) {
	for _, f := range strings.Fields(os.Getenv("SEEDS")) {
		var seed uint64
		fmt.Sscan(f, &seed)
		l := sim.NewLayout(seed)
		im, last := imageOf(l, rounds)
		all := measure(last, rand.New(rand.NewPCG(seed, 5)))
		lib := read(im)
		lib.measured = all
		vs := views(lib.explanations(), all)
		e := vs[0].explanation
		lib.chooseReactive(e)
		lib.dropMisfits(e, e.orderPair())
		of := e.byClass()
		for c, gs := range of {
			for _, g := range gs {
				fmt.Println(c, g.form, g.at, g.stride)
			}
		}
		for i, w := range lib.ways(of, classes, e.orderPair()) {
			if i < 12 {
				fmt.Printf("%05b order %v log %.2f\n", w.long, e.orderPair()[w.order], w.log)
			}
		}
	}
}
