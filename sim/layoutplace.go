package sim

import (
	"math/rand/v2"
	"slices"
	"time"

	"legwork/probe/reading"
)

// LayoutOf makes the layout of a seed for the meter of a place: the registers
// are those that nobody has written down, and the readings are the place's.
func LayoutOf(p *Place, seed uint64) *Layout {
	l := &Layout{where: p, Service: p.Service(), rng: rand.New(rand.NewPCG(seed, 11))}
	l.scene.ripple = l.rng.NormFloat64
	panel := p.panel
	panel.Loads = slices.Clone(panel.Loads)
	for i := range panel.Loads {
		panel.Loads[i].Off = false // the registers hold what flows when all runs
	}
	l.site = &Site{Panel: panel, Meter: p.meter, rng: l.rng}
	l.plan()
	return l
}

// take takes a reading of the place.
func (l *Layout) take(t time.Time) reading.Reading {
	if l.where != nil {
		return l.where.At(t)
	}
	return l.site.Read()
}
