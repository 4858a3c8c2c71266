package asleft

import (
	"math"

	"legwork/diagnose/internal/gaussian"
	"legwork/probe/reading"
)

// Ordinary drift of a leg's load between two visits to the panel, one standard
// deviation, each leg by itself. Our choice, no source: people move conductors for an
// hour, and an ordinary panel doesn't read the same after it.
const (
	driftSize    = 0.2  // of the current's logarithm
	driftDegrees = 20.0 // of the load angle
)

// otherLoad is how often a leg carries another load by then, of any size and of an angle
// as the load model has them. Our choice, no source.
const (
	otherLoad   = 0.03
	otherSpread = 1.5 // of the current's logarithm, about what it was
)

// load is what one leg carried as found: its current, and the angles that it may have had.
type load struct {
	amps   float64 // A; 0 where no prediction was made
	angles []angle
}

// angle is a load angle, in degrees behind the leg's own voltage, with its share.
type angle struct{ phi, share float64 }

// drifted is the density of a load's reading later, per unit of the current's logarithm
// and per degree,
//
//	p(log I', phi' | I, phi) = N(log I'/I; s) N(phi' - phi; a) sqrt(p(phi') / p(phi)),
//
// p being the load model's: the square root keeps that density as it is under drift.
func (l *load) drifted(amps, phi float64, density func(phi float64) float64) (sum float64) {
	for _, a := range l.angles {
		off := float64(reading.Degrees(phi - a.phi))
		sum += a.share * gaussian.Line(off, driftDegrees) * math.Sqrt(density(phi)/density(a.phi))
	}
	if l.amps <= 0 {
		return l.another(amps, phi, density)
	}
	return sum * gaussian.Line(math.Log(amps/l.amps), driftSize)
}

// another is the same density of a leg whose load is another one, or isn't known.
func (l *load) another(amps, phi float64, density func(phi float64) float64) float64 {
	off := 0.0
	if l.amps > 0 {
		off = math.Log(amps / l.amps)
	}
	return density(phi) * gaussian.Line(off, otherSpread)
}
