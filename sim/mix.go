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

	Bank bool // a capacitor bank that makes every leg lead by 60 to 90 degrees
	Odd  bool // one large load, the last in the list, at an angle unlike the rest
}

// MixedLoads is a bit of everything, three to thirty loads.
func MixedLoads() Mix {
	return Mix{Least: 3, Most: 30, Heat: 0.3, Motors: 0.3, Idling: 0.05, Electronics: 0.2, Lighting: 0.15,
		ToNeutral: 0.5, BetweenLegs: 0.2, ThreePhase: 0.3, Vary: 0.7, Spread: 0.9, Unbalance: 0.006}
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
func LightLoads() Mix {
	m := MixedLoads()
	m.Amps = 3
	return m
}

// CapacitorLoads is a mixed panel under a capacitor bank that is far too large.
func CapacitorLoads() Mix {
	m := MixedLoads()
	m.Bank = true
	return m
}

// OneOddLoad is a mixed panel with one large load at an odd angle, which comes
// last: Site.Switch toggles it.
func OneOddLoad() Mix {
	m := MixedLoads()
	m.Odd = true
	return m
}

// Generating is a mixed panel with inverters, some of them larger than the loads.
func Generating() Mix {
	m := MixedLoads()
	m.Generation = 0.15
	return m
}
