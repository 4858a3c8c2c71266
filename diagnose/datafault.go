package diagnose

import (
	"fmt"
	"math"

	"legwork/probe/reading"
)

// A wrong map looks like a wrong panel, so readings that break physics are
// found first, named with the likely mend of the map, and not used.

// Bounds of what a submeter of this kind can read. Our choice, no source: far
// beyond low voltage and its largest services.
const (
	mostVolts  = 50e3
	mostAmps   = 50e3
	mostWatts  = 1e9
	leastFloat = 1e-20 // a float below it has its words exchanged
	powerSlack = 1.05  // P / VI that errors of V, I and skew may make
	leastVA    = 20    // below it ratios say nothing
)

// screener takes from readings what breaks physics, and says what it took.
type screener struct {
	faults []DataFault
	frozen [reading.MaxChannels]struct {
		watts, amps float64
		moved       int
	}
}

// screen returns r without what can't be.
func (s *screener) screen(r reading.Reading) reading.Reading {
	s.faults = s.faults[:0]
	r = r.Clone()
	for k := range r.Channels {
		c := &r.Channels[k]
		s.sizes(c, k)
		s.factor(c, k)
		s.power(c, k)
		s.angle(c, k)
		s.freeze(c, k)
	}
	if hz, ok := r.Frequency.Get(); ok && (hz < 40 || hz > 70) {
		s.report("frequency", fmt.Sprintf("%.4g Hz is no mains frequency", hz), "check its scale: 50 or 60 Hz should come out")
		r.Frequency = reading.Value{}
	}
	return r
}

func (s *screener) report(point, fault, mend string) {
	s.faults = append(s.faults, DataFault{point, fault, mend})
}

func name(q reading.Quantity, k int) string { return fmt.Sprintf("%s.%d", q, k+1) }

// sizes checks that each quantity is of a possible size.
func (s *screener) sizes(c *reading.Channel, k int) {
	for _, q := range [...]struct {
		v    *reading.Value
		q    reading.Quantity
		most float64
		size bool // can't be below zero
	}{{&c.Voltage, reading.Voltage, mostVolts, true}, {&c.Current, reading.Current, mostAmps, true},
		{&c.Power, reading.Power, mostWatts, false}, {&c.Reactive, reading.Reactive, mostWatts, false}, {&c.Apparent, reading.Apparent, mostWatts, true}} {
		x, ok := q.v.Get()
		if !ok {
			continue
		}
		switch {
		case x != 0 && math.Abs(x) < leastFloat:
			s.report(name(q.q, k), fmt.Sprintf("%.3g is no size of anything here", x), "its words are probably exchanged: try another order (CDAB for ABCD)")
		case math.Abs(x) > q.most:
			s.report(name(q.q, k), fmt.Sprintf("%.3g %s is beyond any meter of this kind", x, q.q.Unit()), "check the type, the order of its words, and its scale")
		case q.size && x < 0:
			s.report(name(q.q, k), fmt.Sprintf("%.4g %s is below zero", x, q.q.Unit()), "check its type and whether it is this quantity at all")
		default:
			continue
		}
		*q.v = reading.Value{}
	}
}

func (s *screener) factor(c *reading.Channel, k int) {
	pf, ok := c.PowerFactor.Get()
	if !ok || math.Abs(pf) <= 1.02 {
		return
	}
	mend := "check its scale: it runs from -1 to 1"
	if math.Abs(pf) <= 102 {
		mend = "it looks like percent: add `unit: \"%\"`"
	}
	s.report(name(reading.PowerFactor, k), fmt.Sprintf("%.4g is beyond 1", pf), mend)
	c.PowerFactor = reading.Value{}
}

// apparent is V times I, where it is large enough to say something.
func apparent(c *reading.Channel) (va float64, ok bool) {
	v, okV := c.Voltage.Get()
	i, okI := c.Current.Get()
	return v * i, okV && okI && v*i > leastVA
}

// power checks P against V I, and against V I cos theta where that is known.
func (s *screener) power(c *reading.Channel, k int) {
	p, ok := c.Power.Get()
	va, okVA := apparent(c)
	if !ok || !okVA {
		return
	}
	want, known := va, false
	if pf, okPF := c.PowerFactor.Get(); okPF && math.Abs(pf) > 0.2 {
		want, known = va*math.Abs(pf), true
	} else if theta, okT := c.Angle.Get(); okT && math.Abs(theta.Cos()) > 0.2 {
		want, known = va*math.Abs(theta.Cos()), true
	}
	decade := math.Round(math.Log10(math.Abs(p)/want + 1e-300))
	near := math.Abs(math.Abs(p)/math.Pow(10, decade)-want) < 0.1*want
	beyond := math.Abs(p) > va*powerSlack+5
	switch {
	case beyond && wraps(p, va):
		s.report(name(reading.Power, k), fmt.Sprintf("%.6g W, with %.4g VA there, is a negative power read as an unsigned one", p, va), "write type s16 or s32 for u16 or u32")
	case decade != 0 && math.Abs(decade) <= 6 && near && (known || beyond):
		s.report(name(reading.Power, k), fmt.Sprintf("%.4g W is %s too %s for %.4g VA", p, times(decade), largeSmall(decade), va),
			fmt.Sprintf("multiply its scale by %g, or check its unit", math.Pow(10, -decade)))
	case beyond:
		s.report(name(reading.Power, k), fmt.Sprintf("%.4g W is more than the %.4g VA of its voltage and current", p, va), "check the scales of power, voltage and current, and the ratio of the CT")
	default:
		return
	}
	c.Power, c.Reactive = reading.Value{}, reading.Value{}
}

func times(decade float64) string { return fmt.Sprintf("%g times", math.Pow(10, math.Abs(decade))) }

func largeSmall(decade float64) string {
	if decade > 0 {
		return "large"
	}
	return "small"
}

// wraps reports that p lies just below 2^16 or 2^32 steps of some decimal size.
func wraps(p, va float64) bool {
	for _, full := range [...]float64{1 << 16, 1 << 32} {
		for _, step := range [...]float64{0.001, 0.01, 0.1, 1, 10, 100, 1000} {
			if below := full*step - p; below > 0 && below <= va*powerSlack+5 && va < full*step/4 {
				return true
			}
		}
	}
	return false
}

// angle finds angles in radians or tenths of a degree by what P and VI tell.
func (s *screener) angle(c *reading.Channel, k int) {
	theta, ok := c.Angle.Get()
	p, okP := c.Power.Get()
	va, okVA := apparent(c)
	if !ok || !okP || !okVA {
		return
	}
	want := p / va
	fits := func(degrees float64) bool { return math.Abs(math.Cos(degrees*math.Pi/180)-want) < 0.03 }
	if math.Abs(theta.Cos()-want) < 0.15 {
		return
	}
	mend := "check its unit, its scale, and which of lag and lead is positive"
	switch {
	case math.Abs(float64(theta)) <= math.Pi && fits(float64(theta)*180/math.Pi):
		mend = "it looks like radians: add `unit: rad`"
	case fits(float64(theta) / 10):
		mend = "it looks like tenths of a degree: add `scale: 0.1`"
	case fits(float64(theta) * 10):
		mend = "it looks ten times too small: multiply its scale by 10"
	}
	s.report(name(reading.AngleOf, k), fmt.Sprintf("%.4g deg doesn't fit %.4g W of %.4g VA", float64(theta), p, va), mend)
	c.Angle = reading.Maybe[reading.Angle]{}
}

// frozenAfter is how many clear changes of its current a power may sleep through.
const frozenAfter = 5

// freeze finds a power that stays the same to the last digit while the current
// of its channel changes.
func (s *screener) freeze(c *reading.Channel, k int) {
	p, okP := c.Power.Get()
	i, okI := c.Current.Get()
	if !okP || !okI || k >= len(s.frozen) {
		return
	}
	f := &s.frozen[k]
	moved := math.Abs(i-f.amps) > 0.1*math.Max(i, f.amps) && math.Max(i, f.amps) > 1
	if p != f.watts {
		f.watts, f.moved = p, 0
	} else if moved && p != 0 {
		f.moved++
	}
	if moved {
		f.amps = i
	}
	if f.moved >= frozenAfter {
		s.report(name(reading.Power, k), fmt.Sprintf("stays at %.6g W while the current changes", p), "check the address: this register doesn't follow the load")
		c.Power, c.Reactive = reading.Value{}, reading.Value{}
	}
}
