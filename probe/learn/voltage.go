package learn

import (
	"cmp"
	"math"
	"slices"

	"legwork/probe/reading"
)

// Voltages of low-voltage services, V (IEC 60038 Table 1 and, for North America,
// common practice, no source). A line voltage can stand for a channel's on a
// delta.
var nominals = [...]float64{100, 110, 115, 120, 127, 200, 208, 220, 230, 240, 277, 347, 380, 400, 415, 440, 480, 600,
	690}

// leastMains begins the one decade in which all of them lie.
const leastMains = 76

const (
	widestStride = 512
	mostAnchors  = 12    // with channels side by side
	mostWide     = 10    // with more between them
	alikeWithin  = 0.12  // of voltages of one service
	stillStep    = 0.001 // of a voltage, by steps of which it stands still
	rootThree    = 1.7320508
)

// tens is the power of ten that makes a mains voltage of x.
func tens(x float64) int {
	return -int(math.Floor(math.Log10(x / leastMains)))
}

// mains reports a series that could be a live voltage.
func (s *series) mains() bool {
	if s.low <= 0 || s.high > 1.15*s.low {
		return false
	}
	if s.float() {
		return s.low > 50 && s.high < 800
	}
	return s.low >= leastMains
}

// anchors lists what could be the voltages of n channels, the likeliest first.
func (l *library) anchors(c context, n int) []anchor {
	var all []anchor
	for _, f := range c {
		if f.signed() && f.size() == 1 || f.float() != c[0].float() {
			continue
		}
		var live []place
		for _, p := range l.places(f) {
			if s := l.shelves[f].at(p); s.mains() || l.lowShown(s) {
				live = append(live, p)
			}
		}
		for from := range l.starts(f, live, n) {
			if g := l.gather(f, from.place, from.stride, n); g != nil {
				if a, ok := l.weighAnchor(g); ok {
					all = append(all, a)
				}
			}
		}
	}
	slices.SortFunc(all, func(a, b anchor) int {
		return cmp.Or(cmp.Compare(b.score, a.score), cmp.Compare(a.table, b.table), cmp.Compare(a.at, b.at),
			cmp.Compare(a.stride, b.stride), cmp.Compare(a.typ, b.typ))
	})
	room := map[bool]int{false: mostAnchors, true: mostWide}
	return slices.DeleteFunc(all, func(a anchor) bool {
		wide := a.stride > byQuantity
		room[wide]--
		return room[wide] < 0
	})
}

type start struct {
	place
	stride int
}

// starts lists where n voltages could begin, two of which are live and alike.
func (l *library) starts(f form, live []place, n int) map[start]bool {
	found := map[start]bool{}
	if n == 1 {
		for _, p := range live {
			found[start{p, 0}] = true
		}
		return found
	}
	var strides []int // by which the other input of two may be dead
	if n == 2 {
		strides = append(l.clampedStrides(f), f.size(), 2*f.size(), 3*f.size(), 4*f.size())
	}
	most := 0.62 // as the high leg of a delta
	if slices.ContainsFunc(l.measured, func(m Measured) bool { return m.Point.Quantity == reading.Voltage }) {
		most = 3
	}
	for x, p := range live {
		for _, stride := range strides {
			for _, at := range []int{p.at - stride, p.at + stride} {
				if s := l.at(f, place{p.table, at}); s != nil && s.zero() {
					found[start{place{p.table, min(at, p.at)}, stride}] = true
				}
			}
		}
		for _, q := range live[x+1:] {
			apart := q.at - p.at
			if q.table != p.table || apart > widestStride*(n-1) {
				break
			}
			far := most
			if n == 2 && apart <= byQuantity { // one of them may be low
				far = 2
			}
			if ratio := l.shelves[f].at(q).x[0] / l.shelves[f].at(p).x[0]; math.Abs(math.Log(ratio)) > far {
				continue
			}
			for i := range n - 1 {
				for j := i + 1; j < n; j++ {
					stride := apart / (j - i)
					if apart%(j-i) == 0 && stride >= f.size() && stride <= widestStride {
						found[start{place{p.table, p.at - i*stride}, stride}] = true
					}
				}
			}
		}
	}
	return found
}
