package sim

import (
	"fmt"
	"math"
	"math/rand/v2"
)

// habit is how loads of a kind behave: the range of their lag in degrees and of
// their distortion, and their size beside other kinds'. Common practice, no
// source.
type habit struct{ low, high, least, most, size float64 }

var habits = [kinds]habit{
	Heat:        {0, 3, 0, 0.02, 1},
	Lighting:    {-10, 25, 0.02, 0.3, 0.4},
	Electronics: {-20, 25, 0.1, 0.9, 0.6},
	Motor:       {25, 50, 0, 0.05, 1},
	IdlingMotor: {55, 78, 0.02, 0.08, 0.4},
	Capacitor:   {-90, -60, 0, 0.05, 0.6},
	Generation:  {175, 185, 0.01, 0.05, 2},
}

// Sizes of single loads in VA. Assumptions of ours, no source.
const (
	usualVA = 1400
	leastVA = 200
	mostVA  = 15e3
)

// furnisher draws the loads of one panel, with that panel's own shares.
type furnisher struct {
	rng     *rand.Rand
	mix     Mix
	supply  *Supply
	kinds   []float64
	places  []float64 // to neutral, between legs, three-phase
	legs    []float64
	running float64 // share of the loads that are on
}

func newFurnisher(rng *rand.Rand, u *Supply, m Mix) *furnisher {
	f := &furnisher{rng: rng, mix: m, supply: u}
	f.kinds = varied(rng, m.Vary, m.Heat, m.Lighting, m.Electronics, m.Motors, m.Idling, m.Capacitors, m.Generation)
	f.places = varied(rng, m.Vary, m.ToNeutral, m.BetweenLegs, m.ThreePhase)
	f.legs = varied(rng, m.Vary/2, 1, 1, 1)[:u.Service.Legs()]
	f.running = 0.3 + 0.7*rng.Float64()
	f.restrict()
	return f
}

// restrict leaves the connections that the service has.
func (f *furnisher) restrict() {
	s := f.supply.Service
	if s.Legs() < 3 {
		f.places[1] += f.places[2]
		f.places[2] = 0
	}
	if s.Legs() < 2 {
		f.places[0], f.places[1] = 1, 0
	}
	if !s.HasNeutral() {
		f.places[1] += f.places[0]
		f.places[0] = 0
	}
}

// varied spreads shares out log-normally.
func varied(rng *rand.Rand, by float64, shares ...float64) []float64 {
	for i := range shares {
		shares[i] *= math.Exp(by * rng.NormFloat64())
	}
	return shares
}

// choose draws an index with odds as the shares are.
func choose(rng *rand.Rand, shares []float64) int {
	var sum float64
	for _, x := range shares {
		sum += x
	}
	at := rng.Float64() * sum
	for i, x := range shares {
		if at -= x; at < 0 {
			return i
		}
	}
	return len(shares) - 1
}

// loads draws those of the panel; the first two are on.
func (f *furnisher) loads() []Load {
	n := f.mix.Least + f.rng.IntN(f.mix.Most-f.mix.Least+1)
	loads := make([]Load, n, n+3)
	for i := range loads {
		loads[i] = f.load(fmt.Sprintf("load %d", i+1))
		loads[i].Off = i > 1 && f.rng.Float64() > f.running
	}
	return loads
}

func (f *furnisher) load(name string) Load {
	k := Kind(choose(f.rng, f.kinds))
	h := habits[k]
	l := Load{Name: name, Kind: k, Across: f.place(k)}
	l.Lag = f.mix.Lags.or(h.low, h.high).at(f.rng.Float64())
	l.Distortion = f.mix.Distortion.or(h.least, h.most).at(f.rng.Float64())
	l.VA = usualVA * h.size * math.Exp(f.mix.Spread*f.rng.NormFloat64())
	switch {
	case l.Across.IsThreePhase():
		l.VA *= 2.5
	case l.Across.to != Neutral:
		l.VA *= 1.6
	}
	l.VA = min(max(l.VA, leastVA), mostVA)
	return l
}

// place draws a connection. Lamps hang on the neutral where there is one, and
// nothing hangs between the high leg of a four-wire delta and the neutral.
func (f *furnisher) place(k Kind) Across {
	at := choose(f.rng, f.places)
	if k == Lighting && f.supply.Service.HasNeutral() {
		at = 0
	}
	if at == 2 {
		return ThreePhase()
	}
	from := choose(f.rng, f.legs)
	if at == 1 {
		n := len(f.legs)
		return Between(leg(from), leg((from+1+f.rng.IntN(n-1))%n))
	}
	for leg(from) == f.supply.HighLeg {
		from = (from + 1) % len(f.legs)
	}
	return ToNeutral(leg(from))
}
