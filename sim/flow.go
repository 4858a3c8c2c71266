package sim

import "math/cmplx"

// Panel is a supply with what hangs on it: loads, and currents given outright.
type Panel struct {
	Supply *Supply
	Loads  []Load
	// Fixed currents flow in the legs besides those of the loads, in A rms
	// towards the loads, fundamental only: published phasors, say.
	Fixed [3]complex128
}

// Flow is what is live at one instant: the potentials of the conductors in V
// and the currents in the legs in A, positive towards the loads.
type Flow struct {
	Supply   *Supply
	Legs     [3]complex128
	Neutral  complex128 // 0 as long as the service's neutral holds
	Currents [3]Current
	Loads    complex128 // VA that the loads take; fixed currents not counted
}

// Flow works out what the panel draws. With the service's neutral lost, the
// loads between legs and neutral pull its potential to where their currents
// cancel.
func (p *Panel) Flow(neutralLost bool) Flow {
	f := Flow{Supply: p.Supply, Legs: p.Supply.Volts}
	lost := neutralLost && p.Supply.Service.HasNeutral()
	if lost {
		f.Neutral = p.starPoint()
	}
	for i, j := range p.Fixed {
		f.Currents[i].Fundamental = j
	}
	for i := range p.Loads {
		l := &p.Loads[i]
		switch {
		case l.Off:
		case l.Across.IsThreePhase():
			f.addThree(l, p.Supply)
		default:
			f.add(l, p.Supply, lost)
		}
	}
	return f
}

// starPoint is the potential of a neutral that only the loads hold (Millman's
// theorem). Every load counts as an impedance there.
func (p *Panel) starPoint() complex128 {
	var sum, through complex128
	for i := range p.Loads {
		l := &p.Loads[i]
		if l.Off || l.Across.to != Neutral {
			continue
		}
		y := l.admittance(p.Supply.ratedSquare(l.Across))
		sum += y
		through += y * p.Supply.Volts[l.Across.from.index()]
	}
	if sum == 0 {
		return 0
	}
	return through / sum
}

func (f *Flow) add(l *Load, u *Supply, neutralLost bool) {
	v := f.Potential(l.Across.from) - f.Potential(l.Across.to)
	j := l.draws(v, u.ratedSquare(l.Across))
	if neutralLost && l.Across.to == Neutral {
		j = Current{Fundamental: l.admittance(u.ratedSquare(l.Across)) * v}
	}
	f.Loads += v * cmplx.Conj(j.Fundamental)
	f.into(l.Across.from, j)
	f.into(l.Across.to, j.times(-1))
}

func (f *Flow) addThree(l *Load, u *Supply) {
	for i, j := range l.drawsOfThree(f.Legs, u.squares.star) {
		f.Loads += f.Legs[i] * cmplx.Conj(j.Fundamental)
		f.into(leg(i), j)
	}
}

func (f *Flow) into(c Conductor, j Current) {
	if c.isLeg() {
		f.Currents[c.index()] = f.Currents[c.index()].plus(j)
	}
}

// Potential of a conductor in V; that of nothing is 0.
func (f *Flow) Potential(c Conductor) complex128 {
	switch {
	case c.isLeg():
		return f.Legs[c.index()]
	case c == Neutral:
		return f.Neutral
	}
	return 0
}

// In is the current in a conductor in A, towards the loads. The neutral carries
// back what the legs leave over.
func (f *Flow) In(c Conductor) Current {
	switch {
	case c.isLeg():
		return f.Currents[c.index()]
	case c == Neutral:
		return f.Currents[0].plus(f.Currents[1]).plus(f.Currents[2]).times(-1)
	}
	return Current{}
}

// Power is the complex power that flows through a leg in VA, against the
// neutral, or the star point of a three-wire delta.
func (f *Flow) Power(leg Conductor) complex128 {
	return (f.Potential(leg) - f.Neutral) * cmplx.Conj(f.In(leg).Fundamental)
}

// Total is the complex power of all legs in VA.
func (f *Flow) Total() complex128 {
	return f.Power(LegA) + f.Power(LegB) + f.Power(LegC)
}

// mix adds a share of what flows at another instant.
func (f *Flow) mix(g *Flow, share float64) {
	z := complex(share, 0)
	f.Supply = g.Supply
	f.Neutral += g.Neutral * z
	f.Loads += g.Loads * z
	for i := range f.Legs {
		f.Legs[i] += g.Legs[i] * z
		f.Currents[i] = f.Currents[i].plus(g.Currents[i].times(share))
	}
}
