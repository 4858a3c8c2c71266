package learn

import (
	"math"
)

// flow is what voltage and current of an anchor and a group make.
type flow struct {
	i    *group
	va   [][]float64
	fuzz []float64
}

// newFlow is nil where a channel has neither, but where all of it was measured.
func (l *library) newFlow(a *anchor, i *group) *flow {
	f := &flow{i: i}
	for k, v := range a.of {
		current := i.of[k]
		if v.zero() && current.zero() && !(k < measuredTo(l.measured) && l.isMeasured(k, 0)) {
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

// largestShare is the largest P over V I that it is at least, by their steps; it may not
// be that there is power where there is no current.
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
			fuzz := f.fuzz[k] + s.coarse(s.x[r])
			if share := math.Abs(s.x[r]) / va / (1 + fuzz); share > most && fuzz < 0.2 {
				most = share
			}
		}
	}
	return most, most > 0
}

// shareOf is P over V I in every round; where nothing flowed, as in the others.
// It is nil where nothing ever did.
func shareOf(va, p []float64, scale float64) []float64 {
	var room [fewRounds]float64
	live := room[:0]
	for r, x := range va {
		if x != 0 {
			live = append(live, p[r]/x*scale)
		}
	}
	if len(live) == 0 {
		return nil
	}
	share := make([]float64, len(va))
	usual := median(live)
	for r, x := range va {
		if share[r] = usual; x != 0 {
			share[r] = p[r] / x * scale
		}
	}
	return share
}
