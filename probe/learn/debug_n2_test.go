package learn

import (
	"fmt"
	"os"
	"testing"

	"legwork/sim"
)

func TestDebugN2(t *testing.T) {
	var seed uint64
	var n int
	if c, _ := fmt.Sscan(os.Getenv("N2"), &seed, &n); c < 2 {
		t.Skip()
	}
	l := sim.NewLayout(seed)
	im, last := imageOf(l, rounds)
	lib := read(im)
	_ = last
	for _, f := range forms() {
		lib.places(f)
	}
	all := best(lib.ofChannels(n), 10)
	for _, v := range all {
		fmt.Printf(" n=%d V %d+%d %v/%d/%v ten %d  I %d+%d %v/%d  P %d+%d %v/%d %v score %.1f shown %.1f\n", len(v.v.of), v.v.at, v.v.stride, v.v.typ, v.v.size(), v.v.order, v.v.ten, v.i.at, v.i.stride, v.i.typ, v.i.size(), v.p.at, v.p.stride, v.p.typ, v.p.size(), v.p.order, v.score, v.shown)
		for _, w := range v.weighed {
			fmt.Printf("      %s %.2f;", w.what, w.score)
		}
		fmt.Println()
	}
	for _, c := range contexts() {
		for _, a := range lib.anchors(c, n) {
			fmt.Printf("n %d %v %v at %d+%d score %.1f\n", n, a.typ, a.order, a.at, a.stride, a.score)
		}
	}
}
