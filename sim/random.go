package sim

import (
	"fmt"
	"math"
	"math/cmplx"
	"math/rand/v2"

	"legwork/probe/reading"
)

// Mix says what random panels are like. Shares need not sum to one.
type Mix struct {
	Least, Most                        int // loads on a panel
	Heat, Motors, Electronics, Lights  float64
	ToNeutral, BetweenLegs, ThreePhase float64
	IdlingMotors                       float64 // of the motors
	Vary                               float64 // how much shares differ from panel to panel
	Spread                             float64 // of the logarithm of the loads' sizes
	Amps                               float64 // scales so that the largest leg carries about this; 0 leaves it
	Bank                               bool    // a capacitor bank that makes every leg lead by 60 to 90 degrees
}

// The mixes of the accuracy tables. Assumptions of ours about ordinary panels,
// no source; Vary makes panels of one mix unlike each other.
func MixedLoads() Mix {
	return Mix{Least: 3, Most: 30, Heat: 0.3, Motors: 0.35, Electronics: 0.2, Lights: 0.15,
		ToNeutral: 0.5, BetweenLegs: 0.2, ThreePhase: 0.3, IdlingMotors: 0.15, Vary: 0.7, Spread: 0.9}
}

// MotorLoads is motors only, mostly three-phase.
func MotorLoads() Mix {
	return Mix{Least: 3, Most: 15, Motors: 1, ToNeutral: 0.25, BetweenLegs: 0.1, ThreePhase: 0.65, IdlingMotors: 0.15, Vary: 0.5, Spread: 0.9}
}

// HeatLoads is heat only.
func HeatLoads() Mix {
	return Mix{Least: 3, Most: 15, Heat: 1, ToNeutral: 0.5, BetweenLegs: 0.35, ThreePhase: 0.15, Vary: 0.5, Spread: 0.9}
}

// LightLoads is a mixed panel that hardly carries anything.
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

// Site is a random panel with its meter.
type Site struct {
	Panel  Panel
	Wiring Wiring
	Meter  *Meter

	rng *rand.Rand
	mix Mix
}

// RandomSite draws a site of a service, rightly wired. Its sequence is ABC four
// times in five.
func RandomSite(rng *rand.Rand, service string, m Mix) (*Site, error) {
	supply, err := NewSupply(service, rng.Float64() < 0.2)
	if err != nil {
		return nil, err
	}
	supply.RaiseHighLeg([...]Conductor{LegA, LegB, LegB, LegC}[rng.IntN(4)])
	common := 1 + 0.02*rng.NormFloat64()
	for _, c := range supply.Legs {
		supply.volts[c] *= phasor(common*(1+0.006*rng.NormFloat64()), 0.4*rng.NormFloat64())
	}
	s := &Site{rng: rng, mix: m, Wiring: RightWiring(supply), Meter: NewMeter(rng, 1), Panel: Panel{Supply: supply}}
	s.furnish()
	return s, nil
}

// furnish hangs the loads on the panel; some are off.
func (s *Site) furnish() {
	m := s.mix
	kinds := varied(s.rng, m.Vary, m.Heat, m.Motors*(1-m.IdlingMotors), m.Motors*m.IdlingMotors, m.Electronics, m.Lights)
	places := varied(s.rng, m.Vary, m.ToNeutral, m.BetweenLegs, m.ThreePhase)
	n := m.Least + s.rng.IntN(m.Most-m.Least+1)
	for i := range n {
		l := s.load(choose(s.rng, kinds), choose(s.rng, places))
		l.Name = fmt.Sprintf("load %d", i+1)
		l.Off = i > 1 && s.rng.Float64() < 0.35
		s.Panel.Loads = append(s.Panel.Loads, l)
	}
	if m.Amps > 0 {
		s.scaleTo(m.Amps)
	}
	if m.Bank {
		s.addBank()
	}
}

// varied spreads shares out log-normally.
func varied(rng *rand.Rand, by float64, shares ...float64) []float64 {
	for i := range shares {
		shares[i] *= math.Exp(by * rng.NormFloat64())
	}
	return shares
}

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

// load draws one of a kind (heat, running motor, idling motor, electronics,
// lights) at a place (to neutral, between legs, three-phase).
func (s *Site) load(kind, place int) Load {
	l := Load{VA: math.Min(15e3, math.Max(150, 1400*math.Exp(s.mix.Spread*s.rng.NormFloat64())))}
	switch kind {
	case 0:
		l.Lag = 3 * s.rng.Float64()
	case 1:
		l.Lag = math.Min(50, math.Max(25, 36+6*s.rng.NormFloat64()))
	case 2:
		l.Lag = 52 + 26*s.rng.Float64()
		l.VA *= 0.4
	case 3:
		l.Lag = math.Min(25, math.Max(-20, 2+9*s.rng.NormFloat64()))
		l.Harmonic = 0.05 + 0.6*s.rng.Float64()*s.rng.Float64()
	case 4:
		l.Lag = -10 + 30*s.rng.Float64()
		l.Harmonic = 0.15 * s.rng.Float64()
	}
	s.place(&l, place)
	return l
}

func (s *Site) place(l *Load, place int) {
	legs := s.Panel.Supply.Legs
	from := s.rng.IntN(len(legs))
	if place == 2 && len(legs) == 3 {
		l.Three = true
		l.VA *= 2.5
		return
	}
	if len(legs) > 1 && (place == 1 || !s.Panel.Supply.HasNeutral) {
		to := (from + 1 + s.rng.IntN(len(legs)-1)) % len(legs)
		l.From, l.To = legs[from], legs[to]
		l.VA *= 1.6
		return
	}
	for legs[from] == s.Panel.Supply.HighLeg {
		from = (from + 1) % len(legs)
	}
	l.From, l.To = legs[from], Neutral
}

// scaleTo makes the largest leg current amps.
func (s *Site) scaleTo(amps float64) {
	most := 0.0
	f := s.Panel.flow()
	for _, c := range s.Panel.Supply.Legs {
		most = math.Max(most, f.rms(c))
	}
	for i := range s.Panel.Loads {
		s.Panel.Loads[i].VA *= amps / most
	}
}

// addBank grows a capacitor bank until every leg leads by 60 to 90 degrees.
func (s *Site) addBank() {
	bank := Load{Name: "capacitor bank", Three: len(s.Panel.Supply.Legs) == 3, Lag: -88 - 2*s.rng.Float64(), VA: 3000}
	if !bank.Three {
		bank.From, bank.To = s.Panel.Supply.Legs[0], Neutral
	}
	at := len(s.Panel.Loads)
	s.Panel.Loads = append(s.Panel.Loads, bank)
	if !bank.Three && len(s.Panel.Supply.Legs) == 2 {
		other := bank
		other.From = s.Panel.Supply.Legs[1]
		s.Panel.Loads = append(s.Panel.Loads, other)
	}
	for range 60 {
		if s.allLead(60) {
			break
		}
		for i := at; i < len(s.Panel.Loads); i++ {
			s.Panel.Loads[i].VA *= 1.25
		}
	}
}

func (s *Site) allLead(by float64) bool {
	f := s.Panel.flow()
	for _, c := range s.Panel.Supply.Legs {
		if lag := degreesOf(s.Panel.Supply.volts[c] * cmplx.Conj(f.amps[c])); lag > -by {
			return false
		}
	}
	return true
}

// Mistake makes one random mistake, or a few at once, with some probability.
func (s *Site) Mistake(share float64) error {
	if s.rng.Float64() >= share {
		return nil
	}
	return ApplyMistakes(&s.Wiring, s.Panel.Supply, s.randomMistakes())
}

func (s *Site) randomMistakes() string {
	n := s.Panel.Supply.Channels()
	if n == 1 {
		return "ct1-reversed"
	}
	i := 1 + s.rng.IntN(n)
	j := 1 + (i+s.rng.IntN(n-1))%n
	pair := fmt.Sprintf("%d-%%[1]s%d-crossed", min(i, j), max(i, j))
	crossed, inputs := "ct"+fmt.Sprintf(pair, "ct"), "v"+fmt.Sprintf(pair, "v")
	if s.Panel.Supply.Delta() {
		inputs = crossed
	}
	reversed, other := fmt.Sprintf("ct%d-reversed", i), fmt.Sprintf("ct%d-reversed", j)
	roll := [...]string{"cts-rolled", "cts-rolled-back"}[s.rng.IntN(2)]
	all := []string{reversed, crossed, "cts-reversed", crossed + "," + reversed, crossed + "," + reversed + "," + other, reversed + "," + other,
		onlyThree(n, roll, crossed), onlyThree(n, roll+",cts-reversed", crossed), fmt.Sprintf("ct%d-on-leg%d", i, j), inputs}
	return all[choose(s.rng, []float64{0.36, 0.2, 0.1, 0.08, 0.04, 0.07, 0.06, 0.02, 0.02, 0.05})]
}

func onlyThree(n int, three, otherwise string) string {
	if n == 3 {
		return three
	}
	return otherwise
}

// Read takes one reading.
func (s *Site) Read() reading.Reading { return s.Meter.read(&s.Panel, &s.Wiring, s.rng) }

// Truth says what is wired where and what power flows.
func (s *Site) Truth() Truth { return s.Wiring.truth(&s.Panel) }

// Step switches one load, now and then two at once. It keeps at least one on.
func (s *Site) Step() {
	times := 1
	if s.rng.Float64() < 0.05 {
		times = 2
	}
	for range times {
		l := &s.Panel.Loads[s.rng.IntN(len(s.Panel.Loads))]
		if l.Off || s.running() > 2 {
			l.Off = !l.Off
		}
	}
}

func (s *Site) running() int {
	n := 0
	for i := range s.Panel.Loads {
		if !s.Panel.Loads[i].Off {
			n++
		}
	}
	return n
}

// Drift lets every load wander by about a hundredth.
func (s *Site) Drift() {
	for i := range s.Panel.Loads {
		s.Panel.Loads[i].VA *= math.Exp(0.01 * s.rng.NormFloat64())
	}
}

// Information says how much of a reading a poorer meter gives.
type Information int

// The regimes of the accuracy tables.
const (
	Everything      Information = iota // the angles of the voltages too
	NoVoltageAngles                    // each channel's angle, but not those of the voltages
	PowerReactive                      // V, I, P and Q
	PowerOnly                          // V, I and P
)

// String names the regime.
func (i Information) String() string {
	return [...]string{"all", "no voltage angles", "V, I, P, Q", "V, I, P"}[i]
}

// Strip takes from a reading what the meter doesn't give.
func (i Information) Strip(r *reading.Reading) {
	if i == Everything {
		return
	}
	r.LineVoltages = [3]reading.Value{}
	for k := range r.Channels {
		c := &r.Channels[k]
		c.VoltageAngle, c.CurrentAngle = reading.Maybe[reading.Angle]{}, reading.Maybe[reading.Angle]{}
		if i >= PowerReactive {
			c.Angle, c.PowerFactor = reading.Maybe[reading.Angle]{}, reading.Value{}
		}
		if i >= PowerOnly {
			c.Reactive, c.Apparent = reading.Value{}, reading.Value{}
		}
	}
}
