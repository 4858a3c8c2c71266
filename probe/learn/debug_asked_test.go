package learn

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"strings"
	"testing"

	"legwork/sim"
)

func TestDebugAsked(t *testing.T) {
	for _, f := range strings.Fields(os.Getenv("SEEDS")) {
		var seed uint64
		fmt.Sscan(f, &seed)
		l := sim.NewLayout(seed)
		im, last := imageOf(l, rounds)
		all := measure(last, rand.New(rand.NewPCG(seed, 5)))
		r := Understand(im, nil)
		var told []Measured
		fmt.Printf("== %d %s %v\n", seed, l.Service, l.Made)
		for _, p := range l.Map().Points() {
			if p.Quantity <= 5 {
				fmt.Printf("   true %s at %d %s %v %g = %v\n", p.String(), p.Address, p.Type, p.Order, p.Scale, last.Number(p.Point))
			}
		}
		for range mostAsked {
			if r.Settled || r.Ask == nil {
				break
			}
			i := slices.IndexFunc(all, func(m Measured) bool { return m.Point == r.Ask.Point })
			fmt.Printf("  ask %v or %v\n", r.Ask.Point, r.Ask.Or)
			if i < 0 {
				all = append(all, Measured{r.Ask.Point, math.Abs(last.Number(r.Ask.Point).Or(0))})
				i = len(all) - 1
			}
			fmt.Printf("  told %v\n", all[i])
			told = append(told, all[i])
			r = Understand(im, told)
		}
		lib := read(im)
		lib.measured = told
		vs := views(lib.explanations(), told)
		for i, v := range vs {
			if i > 3 {
				break
			}
			v0, a0, w0 := v.likeness(vs[0])
			fmt.Printf(" %.4f n=%d V %d+%d %v/%d/%v ten %d  I %d+%d %v/%d  P %d+%d %v/%d %v  A 10^%d W 10^%d score %.1f shown %.1f alike %v %v %v\n", v.weight, len(v.v.of), v.v.at, v.v.stride, v.v.typ, v.v.size(), v.v.order, v.v.ten, v.i.at, v.i.stride, v.i.typ, v.i.size(), v.p.at, v.p.stride, v.p.typ, v.p.size(), v.p.order, v.ampere, v.watt(), v.score, v.shown, v0, a0, w0)
			for _, w := range v.weighed {
				fmt.Printf("      %s %.2f;", w.what, w.score)
			}
			fmt.Println()
		}
		wrong := faults(l, r.Map(), last)
		for _, p := range append(r.Points, r.Open...) {
			fmt.Printf("   found %s %.3f %s reads %g\n", p.line(), p.Probability, wrong[p.Point.Point.String()], p.Reads)
		}
	}
}
