package sim

import (
	"math"
	"time"

	"legwork/probe/reading"
)

// channelEnergy is what a channel has registered, in Wh and VAh.
type channelEnergy struct{ in, out, apparent float64 }

// mostSteps bounds the work of one jump in time: loads are looked at every
// second of an hour, and more rarely over a longer jump.
const mostSteps = 3600

// advance moves on to t. Energy follows the wiring as it is during the move.
func (p *Place) advance(t time.Time) {
	if p.start.IsZero() {
		p.start, p.at = t, t
	}
	passed := t.Sub(p.at).Seconds()
	if passed <= 0 {
		return
	}
	n := stepsOver(passed)
	each := passed / float64(n)
	from := p.seconds()
	for i := range n {
		p.register(from+each*(float64(i)+0.5), each)
	}
	p.at = t
}

// stepsOver is how often the loads are looked at over so many seconds.
func stepsOver(seconds float64) int { return int(min(math.Ceil(seconds), mostSteps)) }

// seconds since the scenario began.
func (p *Place) seconds() float64 { return p.at.Sub(p.start).Seconds() }

// register adds what flows at an instant for so many seconds to the energies.
func (p *Place) register(at, seconds float64) {
	f := p.flow(at)
	now := p.wiring.at(at)
	for k, s := range now.See(&f) {
		s.Current = p.meter.errors[k].distorts(s.Current, &p.meter.limits, p.meter.CTPrimary)
		watts, va := s.power()
		e := &p.energy[k]
		e.in += max(watts, 0) * seconds / 3600
		e.out += max(-watts, 0) * seconds / 3600
		e.apparent += va * seconds / 3600
	}
}

// enter writes the energies into a reading.
func (p *Place) enter(r *reading.Reading) {
	var sum channelEnergy
	for k := range r.Channels {
		e := p.energy[k]
		r.Channels[k].EnergyImport, r.Channels[k].EnergyExport = reading.Known(e.in), reading.Known(e.out)
		sum = channelEnergy{sum.in + e.in, sum.out + e.out, sum.apparent + e.apparent}
	}
	r.TotalEnergyImport, r.TotalEnergyExport = reading.Known(sum.in), reading.Known(sum.out)
	r.TotalApparentEnergy = reading.Known(sum.apparent)
}

// Slow changes of the legs' voltages and the loads' sizes, as ratios.
// Assumptions of ours, no source.
const (
	voltsWander = 0.003
	loadWander  = 0.004
)

// flow sets voltages and loads to an instant and works out what flows.
func (p *Place) flow(seconds float64) Flow {
	u := p.panel.Supply
	for i := range u.Volts {
		u.Volts[i] = u.rated[i] * complex(p.level(i)*p.dice(i-3).wander(seconds, voltsWander), 0)
	}
	p.setSwitched(seconds)
	for i := range p.scenario.Loads {
		l, d := &p.panel.Loads[i], p.dice(i)
		at := seconds
		if c := p.scenario.Cycles[i]; p.options.Seed != 0 {
			at += c.Every * d.roll(-4)
		}
		l.Off = p.broken != nil && p.broken[i] || !p.scenario.Cycles[i].isOn(at, d)
		l.VA = p.sizes[i] * d.wander(seconds, loadWander)
	}
	return p.panel.Flow(p.wiring.NeutralLost)
}

// level is a leg's voltage over the nominal one, before it wanders.
func (p *Place) level(i int) float64 {
	if v := p.scenario.Volts[i]; v != 0 {
		return v / math.Sqrt(square(p.panel.Supply.rated[i]))
	}
	return 1
}

// averagedOver is of how many instants a meter that averages takes the mean.
const averagedOver = 8

// averaged is the mean of what flowed over the meter's averaging time up to
// now: a load that has just changed shows in part.
func (p *Place) averaged() Flow {
	now := p.seconds()
	if p.scenario.Average == 0 {
		return p.flow(now)
	}
	var sum Flow
	for i := range averagedOver {
		f := p.flow(max(0, now-p.scenario.Average*float64(i)/averagedOver))
		sum.mix(&f, 1./averagedOver)
	}
	return sum
}
