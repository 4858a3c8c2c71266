package learn

import (
	"fmt"
	"legwork/probe/learn/image"
	"legwork/probe/regmap"
	"legwork/sim"
	"math/rand/v2"
	"os"
	"strconv"
	"testing"
	"time"
)

func TestRank(t *testing.T) {
	n := 60
	if s := os.Getenv("N"); s != "" {
		n, _ = strconv.Atoi(s)
	}
	from := 0
	if s := os.Getenv("FROM"); s != "" {
		from, _ = strconv.Atoi(s)
	}
	top, in := 0, 0
	var slowest time.Duration
	for seed := from; seed < from+n; seed++ {
		l := sim.NewLayout(uint64(seed))
		im, _ := imageOf(l, 6)
		begin := time.Now()
		all := read(im).explanations()
		took := time.Since(begin)
		slowest = max(slowest, took)
		rank := -1
		m := l.Map()
		for i, e := range all {
			if isTruth(e, m) {
				rank = i
				break
			}
		}
		if rank == 0 {
			top++
		} else {
			v, _ := find(m, "voltage.1")
			i, _ := find(m, "current.1")
			p, _ := find(m, "power.1")
			fmt.Printf("seed %d %s %v rank %d of %d, %v; V %s %s@%d I %s@%d P %s@%d step %g %g %g\n", seed, l.Service, l.Made, rank, len(all), took.Round(time.Millisecond),
				v.Order, v.Type, v.Address, i.Type, i.Address, p.Type, p.Address, v.Scale, i.Scale, p.Scale)
			if len(all) > 0 {
				fmt.Println("   top", all[0])
			}
			if rank < 0 {
				fmt.Print("   ", whyNot(im, m))
			}
			if rank >= 0 {
				fmt.Println("   is ", all[rank])
			}
		}
		if rank >= 0 {
			in++
		}
	}
	fmt.Println("top", top, "in", in, "of", n, "slowest", slowest)
}

func isTruth(e *explanation, m *regmap.Map) bool {
	if m.Channels() != len(e.v.of) {
		return false
	}
	for name, g := range map[string]*group{"voltage": e.v.group, "current": e.i, "power": e.p} {
		for k := range g.of {
			p, _ := find(m, fmt.Sprintf("%s.%d", name, k+1))
			at := p.Address
			if p.Count == 2 && g.size() == 1 && highFirst(p.Order) {
				at++
			}
			if g.of[k].at != at {
				return false
			}
		}
	}
	return true
}

func (e *explanation) String() string {
	s := fmt.Sprintf("%.1f: V %s%s@%d/%d", e.score, e.v.typ, e.v.order, e.v.at, e.v.stride)
	for _, g := range []struct {
		name string
		*group
	}{{"I", e.i}, {"P", e.p}, {"S", e.s}, {"Q", e.q}, {"PF", e.pf}} {
		if g.group != nil {
			s += fmt.Sprintf(" %s %s%s@%d/%d", g.name, g.typ, g.order, g.at, g.stride)
		}
	}
	if e.pt != nil {
		s += fmt.Sprintf(" Pt@%d", e.pt.at)
	}
	s += fmt.Sprintf(" ten %d n %d;", e.ten, len(e.v.of))
	for _, w := range e.weighed {
		if w.score != 0 {
			s += fmt.Sprintf(" %s %.1f", w.what, w.score)
		}
	}
	return s
}

// whyNot builds the truth by hand and says where it was lost.
func whyNot(im *image.Image, m *regmap.Map) string {
	l := read(im)
	n := m.Channels()
	out := ""
	for _, c := range contexts() {
		get := func(name string) *group {
			p, _ := find(m, name+".1")
			stride := 0
			if n > 1 {
				q, _ := find(m, name+".2")
				stride = q.Address - p.Address
			}
			for _, f := range c {
				at := p.Address
				if p.Count == 2 && f.size() == 1 {
					if highFirst(p.Order) {
						at++
					}
					if bytesExchanged(p.Order) != (f.typ == swappedU16 || f.typ == swappedS16) {
						continue
					}
				} else if p.Count == 2 && f.order != p.Order || p.Count != f.size() || f.float() != (p.Type == regmap.F32) {
					continue
				} else if p.Count == 1 && f.typ != regmap.U16 && f.typ != regmap.S16 {
					continue
				}
				if g := l.gather(f, place{p.Table, at}, stride, n); g != nil {
					return g
				}
			}
			return nil
		}
		v, i, p := get("voltage"), get("current"), get("power")
		if v == nil || i == nil || p == nil {
			continue
		}
		out += fmt.Sprintf("V %v I %v P %v/%d\n", v.of[0].x, i.of[0].x, p.of[0].x, p.stride)
		a, ok := l.weighAnchor(v)
		out += fmt.Sprintf("   anchor %v %.1f;", ok, a.score)
		for j, b := range l.anchors(c, n) {
			if b.at == v.at && b.stride == v.stride {
				out += fmt.Sprintf(" rank %d;", j)
			}
		}
		out += fmt.Sprintf(" I %v wild %v near %v %v, P moves %v wild %v near %v %v;", isCurrent(v, i), i.wild(), near(v, i.at), strides(v, i.form), p.moves(), p.wild(), near(v, p.at), strides(v, p.form))
		f := newFlow(&a, i)
		out += fmt.Sprintf(" follows %v", f.follows(p))
		most, ok := largestShare(f, p)
		out += fmt.Sprintf(" share %g %v", most, ok)
		if e := l.pair(&a, f, p); e != nil {
			out += " " + e.String()
		} else {
			e := &explanation{v: a, i: i, p: p, share: make([][]float64, n), mid: make([]float64, n), fuzz: make([]float64, n)}
			for k := range n {
				e.fuzz[k] = f.fuzz[k] + p.of[k].coarse(p.of[k].most())
				sh := make([]float64, l.rounds)
				for r := range sh {
					sh[r] = p.of[k].x[r] / f.va[k][r]
				}
				e.share[k], e.mid[k] = sh, median(sh)
				out += fmt.Sprintf(" steady %.1f", e.steadiness(k))
			}
		}
		out += "\n"
	}
	return out
}

func TestViews(t *testing.T) {
	seed, _ := strconv.Atoi(os.Getenv("SEED"))
	l := sim.NewLayout(uint64(seed))
	im, _ := imageOf(l, 6)
	fmt.Println(l.Service, l.Made)
	for _, p := range l.Map().Points() {
		fmt.Println(p.String(), p.Table, p.Address, p.Type, p.Order, p.Scale)
	}
	var all []Measured
	if os.Getenv("M") != "" {
		all = measure(l, im.Times[5].Add(3*time.Second), rand.New(rand.NewPCG(uint64(seed), 5)))
	}
	fmt.Println(all)
	lib := read(im)
	lib.measured = all
	for i, v := range views(lib.explanations(), all) {
		if i < 8 {
			fmt.Printf("%.4f amp %d watt %d %v\n", v.weight, v.ampere, v.watt(), v.explanation)
		}
	}
}
