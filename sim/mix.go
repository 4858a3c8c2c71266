package sim

// Mix says what random panels are like. Shares need not sum to one; each panel
// has its own, spread round the mix's by Vary. The figures are assumptions
// about ordinary panels, no source.
type Mix struct {
	Least, Most int // loads on a panel

	Heat, Lighting, Electronics, Motors, Idling, Capacitors, Generation float64 // shares of kinds

	ToNeutral, BetweenLegs, ThreePhase float64 // shares of connections, where the service has them

	Vary      float64 // standard deviation of the logarithm of a panel's shares, legs and kinds alike
	Spread    float64 // standard deviation of the logarithm of the loads' sizes
	Amps      float64 // scales so that the largest leg carries about this; 0 leaves it
	Unbalance float64 // standard deviation of a leg's voltage, as a ratio

	Bank   bool // a capacitor bank that makes every leg lead by 60 to 90 degrees
	Odd    bool // one large load, the last in the list, at an angle unlike the rest
	Welder bool // one load between two legs, the last in the list, that outweighs all others

	Lags       Range // degrees, for every load, in place of what its kind has
	Distortion Range // harmonic current over the fundamental, likewise
	Export     Range // power of an inverter on all legs over that of the loads
}

// Range is from a least to a most value. The zero Range is none.
type Range struct{ Least, Most float64 }

func (r Range) none() bool { return r == Range{} }

// or is the range, or another one where it is none.
func (r Range) or(least, most float64) Range {
	if r.none() {
		return Range{least, most}
	}
	return r
}

// at is a value by a share of the way.
func (r Range) at(share float64) float64 { return r.Least + (r.Most-r.Least)*share }

// MixedLoads is a bit of everything, three to thirty loads.
func MixedLoads() Mix {
	return Mix{Least: 3, Most: 30, Heat: 0.3, Motors: 0.3, Idling: 0.05, Electronics: 0.2, Lighting: 0.15,
		ToNeutral: 0.5, BetweenLegs: 0.2, ThreePhase: 0.3, Vary: 0.7, Spread: 0.9, Unbalance: 0.006}
}

// mixedBut is that with one thing changed.
func mixedBut(change func(*Mix)) Mix {
	m := MixedLoads()
	change(&m)
	return m
}

// MotorLoads is motors only, mostly three-phase, some of them idling.
func MotorLoads() Mix {
	return Mix{Least: 3, Most: 15, Motors: 0.85, Idling: 0.15,
		ToNeutral: 0.25, BetweenLegs: 0.1, ThreePhase: 0.65, Vary: 0.5, Spread: 0.9, Unbalance: 0.006}
}

// HeatLoads is heat only, much of it between legs.
func HeatLoads() Mix {
	return Mix{Least: 3, Most: 15, Heat: 1,
		ToNeutral: 0.5, BetweenLegs: 0.35, ThreePhase: 0.15, Vary: 0.5, Spread: 0.9, Unbalance: 0.006}
}

// LightLoads is a mixed panel that hardly carries anything: some legs have less
// than 1 A.
func LightLoads() Mix { return mixedBut(func(m *Mix) { m.Amps = 3 }) }

// CapacitorLoads is a mixed panel under a capacitor bank that is far too large.
func CapacitorLoads() Mix { return mixedBut(func(m *Mix) { m.Bank = true }) }

// OneOddLoad is a mixed panel with one large load at an odd angle, which comes
// last: Site.Switch toggles it.
func OneOddLoad() Mix { return mixedBut(func(m *Mix) { m.Odd = true }) }

// Generating is a mixed panel with inverters, some of them larger than the loads.
func Generating() Mix { return mixedBut(func(m *Mix) { m.Generation = 0.15 }) }

// The mixes that follow are unlike the usual ones on purpose.

// AllAt is a mixed panel, every load of which lags by something between two
// angles in degrees; a lead is below zero.
func AllAt(least, most float64) Mix { return mixedBut(func(m *Mix) { m.Lags = Range{least, most} }) }

// Distorted is a mixed panel whose currents have 30 to 110 % of harmonics.
func Distorted() Mix { return mixedBut(func(m *Mix) { m.Distortion = Range{0.3, 1.1} }) }

// OneWelder is a mixed panel beside a welder between two legs.
func OneWelder() Mix { return mixedBut(func(m *Mix) { m.Welder = true }) }

// Exporting is a panel under an inverter near unity power factor whose power is
// so many times that of the loads.
func Exporting(loads Mix, least, most float64) Mix {
	loads.Export = Range{least, most}
	return loads
}
