package learn

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"legwork/sim"
)

func TestDebugPair(t *testing.T) {
	seed := uint64(110275)
	l := sim.NewLayout(seed)
	im, last := imageOf(l, rounds)
	all := measure(last, rand.New(rand.NewPCG(seed, 5)))
	lib := read(im)
	lib.measured = all
	for _, f := range forms() {
		lib.places(f)
	}
	for _, c := range contexts() {
		for _, a := range lib.anchors(c, 3) {
			if a.at != 2004 || a.stride != 1 {
				continue
			}
			for _, f := range c {
				for _, st := range []int{1, 2} {
					for at := 2008; at < 2020; at++ {
						g := lib.gather(f, place{a.table, at}, st, 3)
						if g == nil {
							continue
						}
						fmt.Println(f, at, st, "moves", g.moves(), lib.stands(g), "wild", g.wild(), "cur", isCurrent(a.group, g), ordered(a.group, g), lib.shows(g, 2), lib.shows(g, 3))
						if at == 2009 && st == 2 && f.size() == 1 || at == 2008 && f.size() == 2 {
							fl := lib.newFlow(&a, g)
							for _, ff := range c {
								p := lib.gather(ff, place{a.table, 2016}, 1, 3)
								if p != nil {
									e := lib.pair(&a, fl, p, true)
									fmt.Println("   pair", ff, fl.follows(p), e != nil)
									for _, s := range p.of {
										fmt.Println(s.x)
									}
									for _, s := range g.of {
										fmt.Println(s.x)
									}
									if e != nil {
										fmt.Println(e.score, e.bestShown(all), e.weighed)
									}
								}
							}
						}
					}
				}
			}
		}
	}
}
