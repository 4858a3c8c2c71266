package energy

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"slices"
	"time"

	"legwork/diagnose"
	"legwork/diagnose/wiring"
	"legwork/probe/reading"
)

// How far the mean load of a period lies from one look at it, one standard deviation:
// each leg's current beside the others, and its angle, together with the other legs and
// by itself. Our choice, no source: on the simulator's invented places a look and its own
// day lie 0.25 (of the logarithm) and 11 degrees apart at most.
const (
	periodSize     = 0.25 // of a leg's current, of the logarithm
	periodTogether = 8.0  // degrees
	periodAlone    = 8.0  // degrees
)

// What counts as readings over a day, in which the loads of a period have been seen. Our
// choice, no source.
const (
	dayLong = 20 * time.Hour
	dayRows = 24
)

// overADay reports readings that show how the load varies.
func (s *Observations) overADay() bool {
	return s != nil && len(s.rows) >= dayRows && s.last.Sub(s.first) >= dayLong
}

// mayDiffer reports that the load of the energy may not be the one that was read.
func (s *Observations) mayDiffer(when When) bool {
	if s == nil || len(s.rows) < 2 {
		return true
	}
	return when == OtherTimes && !s.overADay()
}

// otherPeriod gives the 95 % range of the registration over mean loads that a period may
// have had:
//
//	sum Re(read_k f_k) / sum Re(part_k f_k),  f_k = exp(size x_k + i angle_k)
//
// where read and part move together: they are of one current.
func (f drawnFlow) otherPeriod() (low, high float64) {
	rng := rand.New(rand.NewPCG(seed, seed))
	all := make([]float64, draws/5)
	for i := range all {
		together := periodTogether * rng.NormFloat64()
		var read, actual float64
		for k := range f.part {
			by := cmplx.Rect(math.Exp(periodSize*rng.NormFloat64()),
				(together+periodAlone*rng.NormFloat64())*math.Pi/180)
			r, a := f.read[k], f.part[k]
			if f.unsigned && rng.IntN(2) == 1 {
				r, a = cmplx.Conj(r), cmplx.Conj(a)
			}
			read += real(r * by)
			actual += real(a * by)
		}
		all[i] = read / actual
	}
	slices.Sort(all)
	return all[len(all)/40], all[len(all)-1-len(all)/40]
}

// forPeriod widens a registration and its K by what a period's load may have been: the
// doubt of the readings and that of the load are independent, so their half-widths add up
// as the root of the sum of squares (JCGM 100:2008, 5.1.2).
func (f drawnFlow) forPeriod(g, k Registration) (Registration, Registration) {
	low, high := f.otherPeriod()
	g.Low, g.High = g.Best-math.Hypot(g.Best-g.Low, max(0, g.Best-low)), g.Best+math.Hypot(g.High-g.Best, max(0,
		high-g.Best))
	if low*high > 0 {
		ends := Registration{g.Best, min(low, g.Best), max(high, g.Best)}.inverse()
		k.Low = k.Best - math.Hypot(k.Best-k.Low, k.Best-ends.Low)
		k.High = k.Best + math.Hypot(k.High-k.Best, ends.High-k.Best)
	}
	return g, k
}

// coarse is the flow by the verdict alone, without the sign of what is reactive: what each
// channel reads, and what it should. ok is false where one of the two isn't known.
func coarse(d diagnose.Result) (f drawnFlow, ok bool) {
	s, err := wiring.ParseService(d.Service.Name)
	x := d.Explanations[0]
	if err != nil || len(x.CT) != s.Channels() {
		return f, false
	}
	f.unsigned = true
	for k, ct := range x.CT {
		if ct.Leg == nil || k >= len(d.Channels) {
			return f, false
		}
		at := slices.IndexFunc(x.Expect, func(e diagnose.ChannelAfter) bool {
			return int(s.HomeLeg(wiring.Channel(e.Channel))) == *ct.Leg
		})
		if at < 0 {
			return f, false
		}
		size := d.Channels[k].Voltage.Or(0) * d.Channels[k].Current.Or(0)
		read, okRead := beside(d.Channels[k].Power, size)
		part, okPart := beside(x.Expect[at].Power, size)
		if !okRead || !okPart {
			return f, false
		}
		f.read[k], f.part[k] = read, part
	}
	return f, math.Abs(f.actual()) > 1
}

// beside is the complex power P + jQ, VA, of some real part and size, Q = sqrt(S^2 - P^2),
// whose sign isn't known and is taken above the axis.
func beside(watts reading.Value, size float64) (complex128, bool) {
	p, ok := watts.Get()
	return complex(p, math.Sqrt(max(0, size*size-p*p))), ok
}
