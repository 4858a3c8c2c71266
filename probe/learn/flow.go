package learn

import (
	"math"
	"slices"

	"legwork/probe/reading"
)

const (
	excess   = 0.02   // of a power beyond V times I: quantities of different instants
	instants = 0.0015 // by which quantities of different instants differ
)

// flow is what voltage and current of an anchor and a group make.
type flow struct {
	i    *group
	va   [][]float64
	fuzz []float64
}

// newFlow is nil where a channel has neither.
func newFlow(a *anchor, i *group) *flow {
	f := &flow{i: i}
	for k, v := range a.of {
		current := i.of[k]
		if v.zero() && current.zero() {
			return nil // there is no such channel
		}
		va := make([]float64, len(v.x))
		for r := range va {
			va[r] = v.x[r] * current.x[r]
		}
		f.va = append(f.va, va)
		f.fuzz = append(f.fuzz, v.coarse(v.high)+current.coarse(current.high))
	}
	return f
}

// follows is a quick look whether a power changes as V I does, but for a load
// that is switched, or by itself.
func (f *flow) follows(p *group) bool {
	largest := 0.
	for k, s := range p.of {
		if va := f.va[k][0]; va != 0 {
			largest = math.Max(largest, math.Abs(s.x[0])/va)
		}
	}
	for k, s := range p.of {
		strays := 0
		for r := 1; r < len(s.x); r++ {
			was, is := f.va[k][r-1], f.va[k][r]
			if was == 0 || is == 0 {
				continue
			}
			a, b := s.x[r-1]/was, s.x[r]/is
			if math.Abs(a-b) > 0.3*(math.Abs(a)+math.Abs(b))+0.03*largest && math.Abs(s.x[r]-s.x[r-1]) > 4*s.step {
				strays++
			}
		}
		if 2*strays > len(s.x)-1 {
			return false
		}
	}
	return true
}

func isCurrent(v, g *group) bool {
	if overlap(v, g) {
		return false
	}
	for _, s := range g.of {
		if s.low < 0 || g.float() && s.high > 2e4 {
			return false
		}
	}
	return !g.float() || g.most() > 0.005
}

func isPower(v, g *group) bool { return !overlap(v, g) && (!g.float() || g.most() < 1e8) }

// pair weighs a power beside a voltage and a current; nil where it can't be one.
func (l *library) pair(a *anchor, f *flow, p *group) *explanation {
	if !f.follows(p) || overlap(f.i, p) {
		return nil
	}
	if equal(f.i, p) {
		return nil // P over I alone is as steady as V
	}
	most, ok := largestShare(f, p)
	if !ok {
		return nil
	}
	e := &explanation{v: *a, i: f.i, p: p, ten: int(math.Ceil(math.Log10(most / (1 + excess))))}
	if !e.tenFits() || l.measuredTen(e) == e.ten+1 {
		e.ten++ // all factors are low
		if !e.tenFits() {
			return nil
		}
	}
	e.share = make([][]float64, len(p.of))
	e.fuzz, e.mid = make([]float64, len(p.of)), make([]float64, len(p.of))
	e.add("voltages", a.score)
	if len(p.of) == 2 && twins(a.group) && twins(f.i) && twins(p) {
		return nil // one channel, read twice
	}
	scale := math.Pow10(-e.ten)
	for k := range p.of {
		e.fuzz[k] = f.fuzz[k] + p.of[k].coarse(p.of[k].most())
		share := shareOf(f.va[k], p.of[k].x, scale)
		if share == nil {
			e.add("no current", -3)
			e.idle = true
			continue
		}
		e.share[k], e.mid[k] = share, median(share)
		e.add("steady", e.steadiness(k))
		e.add("load", 0.5*math.Log(0.3+0.7*math.Min(1, math.Abs(share[0])))+e.exactly(k))
	}
	if most*scale < 0.2 {
		e.add("low factor", -1.5)
	}
	return e
}

// exactly weighs a power that is volts times amperes to the last digit. Few loads
// are so near a resistor: it is rather the apparent power. Our choice.
func (e *explanation) exactly(k int) float64 {
	if math.Abs(math.Abs(e.mid[k])-1) > 2e-5+e.fuzz[k] {
		return 0
	}
	return math.Log(math.Min(1, 0.06+40*e.fuzz[k]))
}

// shareOf is P over V I in every round; where nothing flowed, as in the others.
// It is nil where nothing ever did.
func shareOf(va, p []float64, scale float64) []float64 {
	var live []float64
	for r, x := range va {
		if x != 0 {
			live = append(live, p[r]/x*scale)
		}
	}
	if live == nil {
		return nil
	}
	share := slices.Repeat([]float64{median(live)}, len(va))
	for r, x := range va {
		if x != 0 {
			share[r] = p[r] / x * scale
		}
	}
	return share
}

// measuredTen is the power of ten of an explanation that what was measured of a
// channel asks for; a large number where nothing was.
func (l *library) measuredTen(e *explanation) int {
	get := func(q reading.Quantity, k int) float64 {
		for _, m := range l.measured {
			if m.Point == (reading.Point{Quantity: q, Index: k + 1}) {
				return m.Value
			}
		}
		return 0
	}
	for k, s := range e.p.of {
		v, i, p := get(reading.Voltage, k), get(reading.Current, k), get(reading.Power, k)
		raw := s.mid / e.v.of[k].mid / e.i.of[k].mid
		if v*i*p == 0 || p < 0.02*v*i || raw == 0 || math.IsInf(raw, 0) || math.IsNaN(raw) {
			continue
		}
		if ten := math.Log10(math.Abs(raw) * v * i / p); math.Abs(ten-math.Round(ten)) < 0.25 { // else a load was switched
			return int(math.Round(ten))
		}
	}
	return math.MaxInt
}

// largestShare is the largest P over V I; it may not be that there is power
// where there is no current.
func largestShare(f *flow, p *group) (most float64, ok bool) {
	all := p.most()
	for k, s := range p.of {
		for r, va := range f.va[k] {
			if va == 0 {
				if x := math.Abs(s.x[r]); x > 2*s.step+1e-5*all {
					return 0, false
				}
				continue
			}
			if share := math.Abs(s.x[r]) / va; share > most && f.fuzz[k]+s.coarse(s.x[r]) < 0.2 {
				most = share
			}
		}
	}
	return most, most > 0
}

// tenFits reports a power of ten that steps of volts, amperes and watts can have.
func (e *explanation) tenFits() bool {
	if e.i.float() {
		return e.ten == 0 || e.ten == -3 || e.ten == -6
	}
	for step := -4; step <= 1; step++ {
		if power := e.v.ten + step - e.ten; power >= -3 && power <= 3 {
			return true
		}
	}
	return false
}

// steadiness weighs that a channel's P over V I hardly changes from round to
// round while V, I and P do, against numbers that have nothing to do with each
// other. A load that is switched changes it once.
func (e *explanation) steadiness(k int) float64 {
	share := e.share[k]
	size := math.Abs(e.mid[k])
	across := math.Sqrt(math.Max(0.1, 1-size*size)) // what a change of the angle does
	near := 1.4 * math.Hypot(math.Hypot(instants*size, 2*instants*across), size*e.fuzz[k])
	unlike := math.Hypot(near, size*math.Hypot(unrest(e.i.of[k].x), unrest(e.p.of[k].x)))
	sum := 0.
	for r := 1; r < len(share); r++ {
		x := share[r] - share[r-1]
		sum += math.Log(0.6*bell(x, near)+0.3*bell(x, 5*near)+0.1*bell(x, 0.03+0.1*size)+0.005) - math.Log(bell(x, unlike))
	}
	return math.Max(-4, math.Min(6, sum))
}
