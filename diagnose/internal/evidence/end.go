package evidence

import (
	"math"
	"math/cmplx"

	"legwork/probe/reading"
)

// Current is the size of a current and of its voltage, rms.
type Current struct {
	Volts float64 // V; 0 where not known
	Amps  float64 // A in the primary
}

// Noise is one standard deviation of a channel's current phasor, A.
func (c Current) Noise() float64 { return math.Max(leastNoise, currentNoise*c.Amps) }

// Dip is the current, A, by which a change of the voltage by itself moves whatever is
// on: at most as much, as a share, as the voltage, I |V'/V - 1|.
func Dip(a, b Current) float64 {
	if a.Volts <= 0 || b.Volts <= 0 {
		return 0
	}
	return a.Amps * math.Abs(b.Volts/a.Volts-1)
}

// End is what a channel read at one end of a state: of its observation as much as
// a change of load needs, since states have most of the memory of many cases.
type End struct {
	Current
	Z  [2]complex128 // the phasors that the current may be, once they are set
	Zs int           // how many; 0 before

	working  float64    // A of the fundamental
	theta    [2]float64 // degrees: the first candidate, and the first on the other side of the voltage
	second   uint8      // which candidate that is
	of       uint8      // how many there were
	sizeOnly bool
	positive bool
	cosine   bool
	mirrored bool // of one angle, the arc cosine, both signs are open
}

// end is the observation as the end of a state.
func (s *Observation) end() End {
	e := End{Current: s.Current, working: s.Working, of: uint8(s.N), sizeOnly: s.SizeOnly, positive: s.positive, cosine: s.cosine}
	if s.N < 2 {
		e.theta[0] = s.Candidates[0].Theta
		return e
	}
	e.second = 1
	for i, c := range s.List() {
		if (c.Theta < 0) != (s.Candidates[0].Theta < 0) {
			e.second, e.mirrored = uint8(i), s.cosine
			break
		}
	}
	e.theta = [2]float64{s.Candidates[0].Theta, s.Candidates[e.second].Theta}
	e.mirror()
	return e
}

// mirror makes the angle on the other side of the voltage that of the first.
func (e *End) mirror() {
	if e.mirrored {
		e.theta[1] = -e.theta[0]
	}
}

// Aside is by how much the reactive part of the current may be off, A, where it follows
// from P alone; at unity, where it hardly shows in P, most. With S = I and e the error of
// P / V I,
//
//	sqrt(Q^2 + 2 e S^2) - |Q|
func (e *End) Aside() float64 {
	if !e.cosine || e.of == 0 {
		return 0
	}
	q := e.working * math.Abs(math.Sin(e.theta[0]*math.Pi/180))
	return math.Sqrt(q*q+2*cosineError*e.working*e.working) - q
}

// phasors lists what the current may be, as seen from its own voltage: I at -theta,
// scaled to the same voltage.
func (e *End) phasors() (z [2]complex128, n int) {
	switch {
	case e.of == 0:
		return z, 1
	case e.of > 1 && (e.mirrored || (e.theta[1] < 0) != (e.theta[0] < 0)):
		z[1] = cmplx.Rect(e.working, -e.theta[1]*math.Pi/180)
		n++
	}
	z[0] = cmplx.Rect(e.working, -e.theta[0]*math.Pi/180)
	return z, n + 1
}

// toward moves the mean by a share of the way to one more reading.
func (e *End) toward(next *Observation, share float64) {
	if int(e.of) != next.N || e.of == 0 && !next.SizeOnly {
		*e = next.end()
		return
	}
	e.sizeOnly, e.positive, e.cosine = next.SizeOnly, next.positive, next.cosine
	for i, at := range [...]uint8{0, e.second} {
		e.theta[i] = between(e.theta[i], next.Candidates[at].Theta, share)
	}
	e.mirror()
	e.Amps += share * (next.Amps - e.Amps)
	e.working += share * (next.Working - e.working)
	e.Volts += share * (next.Volts - e.Volts)
}

// between is the angle a share of the way from one to another, in degrees.
func between(from, to, share float64) float64 {
	off := reading.Degrees(to).Minus(reading.Degrees(from))
	return float64(reading.Degrees(from + share*float64(off)))
}

// fold gives the opposite of an angle that rests on the sign of a register.
func (e *End) fold() {
	if e.positive && e.of == 1 {
		e.theta[1], e.second, e.of = -e.theta[0], 1, 2
	}
}

// distance is how far apart two currents are, in A, by the candidates nearest
// to each other; a change of the voltage by itself is scaled out, and what the reactive
// parts may be off counts by as much less.
func distance(a, b End) float64 {
	if a.sizeOnly || b.sizeOnly {
		return math.Abs(a.Amps - b.Amps)
	}
	za, na := a.phasors()
	zb, nb := b.phasors()
	scale := complex(1, 0)
	if a.Volts > 0 && b.Volts > 0 {
		scale = complex(a.Volts/b.Volts, 0)
	}
	least, aside := math.Inf(1), 1.0
	if off := math.Hypot(a.Aside(), b.Aside()); off > 0 {
		noise := math.Hypot(a.Noise(), b.Noise())
		aside = noise / math.Hypot(noise, off)
	}
	size := func(z complex128) float64 { return math.Hypot(real(z), aside*imag(z)) }
	for i := range na {
		for j := range nb {
			least = math.Min(least, math.Min(size(za[i]-zb[j]), size(za[i]-zb[j]*scale)))
		}
	}
	return least
}
