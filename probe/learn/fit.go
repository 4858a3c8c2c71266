package learn

import "math"

// How well the numbers of an explanation go with each other.

const (
	mostExplanations = 150
	powerSlack       = 0.02   // of a power beyond V times I: quantities of different instants
	instantSlack     = 0.0015 // by which quantities of different instants differ
)

// tenFits reports a power of ten that steps of volts, amperes and watts can have.
func (e *explanation) tenFits() bool {
	if e.p.float() {
		return e.ten == 0 || e.ten == -3 || e.ten == -6
	}
	for ampere := -4; ampere <= 1; ampere++ {
		if watt := e.v.ten + ampere - e.ten; watt >= -3 && watt <= 3 {
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
	near := 1.4 * math.Hypot(math.Hypot(instantSlack*size, 2*instantSlack*across), size*e.fuzz[k])
	unlike := math.Hypot(near, size*math.Hypot(unrest(e.i.of[k].x), unrest(e.p.of[k].x)))
	odds := 1.
	for r := 1; r < len(share); r++ {
		x := share[r] - share[r-1]
		odds *= (0.6*gaussian(x, near) + 0.3*gaussian(x, 5*near) + 0.1*gaussian(x, 0.03+0.1*size) + 0.005) / gaussian(x, unlike)
	}
	return math.Max(-4, math.Min(6, math.Log(odds)))
}

// farApart is the score of what can't be.
const farApart = 40

// unity weighs that P is V I in all channels, against a number that is any.
func (e *explanation) unity() float64 {
	sum := 0.
	for k, share := range e.share {
		if share == nil {
			continue
		}
		x := e.mid[k] - 1
		sum += math.Min(6, math.Log(2.3*(0.7*gaussian(x, 0.0002+0.7*e.fuzz[k])+0.25*gaussian(x, 0.003+e.fuzz[k]))+1e-4))
	}
	return sum
}

// offSquares is by how much the squares of P and another, in such a power of ten, are more
// than that of V I, as a ratio, on channel k; false where nothing flows.
func (e *explanation) offSquares(o *explanation, ten, k int) (off float64, ok bool) {
	share, other := e.share[k], o.share[k]
	if share == nil || other == nil {
		return 0, false
	}
	var room [fewRounds]float64
	all := room[:0]
	scale := math.Pow10(2 * (ten - e.ten))
	for r, c := range share {
		all = append(all, c*c+other[r]*other[r]*scale-1)
	}
	return median(all), true
}

// squares weighs that P and another are active and reactive power of the same
// apparent one: their squares make one, or somewhat less under distortion. The other
// is in units of 10 to the power of ten.
func (e *explanation) squares(o *explanation, ten int) float64 {
	sum := 0.
	for k := range e.share {
		x, ok := e.offSquares(o, ten, k)
		if !ok {
			continue
		}
		fuzz := 2 * (e.fuzz[k] + o.fuzz[k])
		less := 0.
		if x < 0.01+fuzz {
			less = math.Exp(-math.Max(0, -x)/0.1) / 0.1
		}
		if o.p.of[k].zero() && x < -3*fuzz-instantSlack {
			return -farApart // nothing is no share of what is left
		}
		exact := 0.4*gaussian(x, 0.0003+fuzz) + 0.1*gaussian(x, 0.002+fuzz)
		sum += math.Max(-3, math.Min(4, math.Log(0.8*(exact+0.3*less+1e-3))))
	}
	return sum
}
