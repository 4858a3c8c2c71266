package evidence

import (
	"math"

	"legwork/probe/reading"
)

// A wrong map looks like a wrong panel, so readings that break physics are
// found first, named with the likely mend of the map, and not used.

// Bounds of what a submeter of this kind can read. Our choice, no source: far
// beyond low voltage and its largest services.
const (
	mostVolts  = 1500 // low voltage ends at 1000 V (IEC 60038); a half more
	mostAmps   = 50e3
	mostWatts  = 1e9
	leastFloat = 1e-20 // a float below it has its words exchanged
	powerSlack = 1.05  // P / VI that errors of V, I and skew may make
	leastVA    = 20    // below it ratios say nothing
	leastSound = 0.6   // of the cosine, that P / V I may be by distortion: 130 %
)

// Kind is the way in which a quantity breaks physics.
type Kind uint8

// The kinds of data fault, with what Value holds.
const (
	NoSize         Kind = iota + 1 // a float that is no size of anything: its words are probably exchanged
	TooLarge                       // beyond any meter of this kind
	BelowZero                      // a size that can't be
	BeyondOne                      // a power factor
	Unsigned                       // a negative power read as an unsigned one, W
	OffByDecades                   // a power, W, 10^Decade times what its voltage and current make
	BeyondVA                       // a power, W, above its voltage times its current
	AngleMisfit                    // an angle, degrees, that doesn't fit P and V I
	NoServiceAngle                 // an angle of a voltage, degrees, that is no service's
	Frozen                         // a power, W or var, that doesn't follow the load
	NoMains                        // a frequency, Hz
	EnergyMisfit                   // what a register of energy grew by, Wh, which isn't what the power made
	AnglesAlike                    // an angle of a voltage, degrees, that is that of all inputs
)

// Misfit is what an angle that doesn't fit looks like.
type Misfit uint8

// The misfits of an angle.
const (
	OddAngle      Misfit = iota
	Radians              // in radians
	Tenths               // in tenths of a degree
	TenTimesSmall        // ten times too small
)

// Fault is a quantity that breaks physics.
type Fault struct {
	Point  reading.Point
	Kind   Kind
	Value  float64 // as it was read
	Watts  float64 // AngleMisfit: the power beside it; EnergyMisfit: what the power made, Wh
	VA     float64 // of the channel's voltage and current, where Kind compares with it
	Decade float64 // OffByDecades; EnergyMisfit: the power of ten that would make it fit, or 0
	Misfit Misfit  // AngleMisfit, NoServiceAngle
}

// Screen takes from readings what breaks physics, and says what it took.
type Screen struct {
	Faults []Fault
	frozen [reading.MaxChannels]struct {
		amps            float64
		power, reactive still
	}
	n, spoilt int // readings, and those that broke physics
	earlier   []Earlier
}

// Screen returns r without what can't be.
func (s *Screen) Screen(r reading.Reading) reading.Reading {
	s.Faults = s.Faults[:0]
	r = r.Clone()
	s.angleUnits(&r)
	for k := range r.Channels {
		c := &r.Channels[k]
		s.sizes(c, k)
		s.factor(c, k)
		s.power(c, k)
		s.angle(c, k)
		s.freeze(c, k)
	}
	if hz, ok := r.Frequency.Get(); ok && (hz < 40 || hz > 70) {
		s.report(Fault{Point: reading.Point{Quantity: reading.Frequency}, Kind: NoMains, Value: hz})
		r.Frequency = reading.Value{}
	}
	s.tally()
	return r
}

func (s *Screen) report(f Fault) { s.Faults = append(s.Faults, f) }

func pointOf(q reading.Quantity, k int) reading.Point {
	return reading.Point{Quantity: q, Index: k + 1}
}

// sizes checks that each quantity is of a possible size.
func (s *Screen) sizes(c *reading.Channel, k int) {
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
			s.report(Fault{Point: pointOf(q.q, k), Kind: NoSize, Value: x})
		case math.Abs(x) > q.most:
			s.report(Fault{Point: pointOf(q.q, k), Kind: TooLarge, Value: x})
		case q.size && x < 0:
			s.report(Fault{Point: pointOf(q.q, k), Kind: BelowZero, Value: x})
		default:
			continue
		}
		*q.v = reading.Value{}
	}
}

func (s *Screen) factor(c *reading.Channel, k int) {
	pf, ok := c.PowerFactor.Get()
	if !ok || math.Abs(pf) <= 1.02 {
		return
	}
	s.report(Fault{Point: pointOf(reading.PowerFactor, k), Kind: BeyondOne, Value: pf})
	c.PowerFactor = reading.Value{}
}

// apparent is V times I, where it is large enough to say something.
func apparent(c *reading.Channel) (va float64, ok bool) {
	v, okV := c.Voltage.Get()
	i, okI := c.Current.Get()
	return v * i, okV && okI && v*i > leastVA
}

// power checks P against V I, and against V I cos theta where that is known.
func (s *Screen) power(c *reading.Channel, k int) {
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
		s.report(Fault{Point: pointOf(reading.Power, k), Kind: Unsigned, Value: p, VA: va})
	case decade != 0 && math.Abs(decade) <= 6 && near && (known || beyond):
		s.report(Fault{Point: pointOf(reading.Power, k), Kind: OffByDecades, Value: p, VA: va, Decade: decade})
	case beyond:
		s.report(Fault{Point: pointOf(reading.Power, k), Kind: BeyondVA, Value: p, VA: va})
	default:
		return
	}
	c.Power, c.Reactive = reading.Value{}, reading.Value{}
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
func (s *Screen) angle(c *reading.Channel, k int) {
	theta, ok := c.Angle.Get()
	p, okP := c.Power.Get()
	va, okVA := apparent(c)
	if !ok || !okP || !okVA {
		return
	}
	want := p / va
	fits := func(degrees float64) bool { return math.Abs(math.Cos(degrees*math.Pi/180)-want) < 0.03 }
	// Distortion pulls P / V I towards zero, away from the cosine of the fundamental.
	cos := theta.Cos()
	distorted := want*cos >= 0 && math.Abs(want) < math.Abs(cos)
	if math.Abs(cos-want) < 0.15 || distorted && math.Abs(want) > leastSound*math.Abs(cos) {
		return
	}
	f := Fault{Point: pointOf(reading.AngleOf, k), Kind: AngleMisfit, Value: float64(theta), Watts: p, VA: va}
	switch {
	case math.Abs(float64(theta)) <= math.Pi && fits(float64(theta)*180/math.Pi):
		f.Misfit = Radians
	case fits(float64(theta) / 10):
		f.Misfit = Tenths
	case fits(float64(theta) * 10):
		f.Misfit = TenTimesSmall
	case distorted:
		return // as in a neutral; that it is so on every channel is for the ties to weigh
	}
	s.report(f)
	c.Angle = reading.Maybe[reading.Angle]{}
}

// frozenAfter is how many clear changes of its current a power may sleep through.
const frozenAfter = 5

// freeze finds a power, active or reactive, that stays the same to the last digit while the
// current of its channel changes. A reactive one of few digits may stay where heat is switched.
func (s *Screen) freeze(c *reading.Channel, k int) {
	i, ok := c.Current.Get()
	if !ok || k >= len(s.frozen) {
		return
	}
	f := &s.frozen[k]
	moved := math.Abs(i-f.amps) > 0.1*math.Max(i, f.amps) && math.Max(i, f.amps) > 1
	if moved {
		f.amps = i
	}
	if p, ok := c.Power.Get(); ok && f.power.stays(p, moved) {
		s.report(Fault{Point: pointOf(reading.Power, k), Kind: Frozen, Value: p})
		c.Power, c.Reactive = reading.Value{}, reading.Value{}
	}
	if q, ok := c.Reactive.Get(); ok && f.reactive.stays(q, moved) && fine(q) {
		s.report(Fault{Point: pointOf(reading.Reactive, k), Kind: Frozen, Value: q})
		c.Reactive = reading.Value{}
	}
}

// still is what doesn't change.
type still struct {
	value float64
	moved int // changes of current that it slept through
}

// stays takes one more value, and reports that it slept through too many changes.
func (f *still) stays(x float64, moved bool) bool {
	if x != f.value {
		f.value, f.moved = x, 0
	} else if moved && x != 0 {
		f.moved++
	}
	return f.moved >= frozenAfter
}
