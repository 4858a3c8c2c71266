package sim

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"time"

	"legwork/probe/reading"
)

// Site is a random panel with its meter and wiring. What happens to it follows
// from the random numbers it was made with.
type Site struct {
	Panel  Panel
	Wiring Wiring
	Meter  *Meter
	Slips  Slips    // what Mistake draws from
	Made   []string // the mistakes that were made, by name

	rng *rand.Rand
	at  time.Time
}

// RandomSite draws a site of a service, rightly wired; its sequence is ABC four
// times in five. The error is an unknown service.
func RandomSite(rng *rand.Rand, service string, m Mix) (*Site, error) {
	kind, err := ParseService(service)
	if err != nil {
		return nil, err
	}
	u := randomSupply(rng, kind, m.Unbalance)
	s := &Site{rng: rng, Slips: UsualSlips(), Wiring: RightWiring(u), Panel: Panel{Supply: u},
		at: time.Date(2026, 5, 4, 9, 30, 0, 0, time.UTC)}
	s.furnish(m)
	class := [...]string{"0.2", "0.5", "1"}[rng.IntN(3)]
	s.Meter, err = NewMeter(rng, MeterOptions{CTPrimary: s.rating(), Class: class, Noise: 0.0005, Steps: true})
	return s, err
}

func randomSupply(rng *rand.Rand, s Service, unbalance float64) *Supply {
	q := ABC
	if rng.Float64() < 0.2 {
		q = ACB
	}
	u := NewSupply(s, q)
	u.MoveHighLeg([...]Conductor{LegA, LegB, LegB, LegC}[rng.IntN(4)])
	level := 1 + 0.02*rng.NormFloat64() // within the usual 5 %
	for i := range s.Legs() {
		u.Scale(leg(i), complex(level*(1+unbalance*rng.NormFloat64()), 0)*turn(60*unbalance*rng.NormFloat64()))
	}
	return u
}

func (s *Site) furnish(m Mix) {
	f := newFurnisher(s.rng, s.Panel.Supply, m)
	s.Panel.Loads = f.loads()
	if m.Amps > 0 {
		s.scaleTo(m.Amps * (0.4 + 0.6*s.rng.Float64()))
	}
	if m.Bank {
		s.addBank()
	}
	if m.Odd {
		s.addOdd(f)
	}
	if m.Welder {
		s.addWelder(f)
	}
	if !m.Export.none() {
		s.addInverter(m.Export.at(s.rng.Float64()))
	}
}

// mostAmps is the largest current of a leg.
func (s *Site) mostAmps() float64 {
	f := s.Panel.Flow(false)
	most := 0.0
	for _, j := range f.Currents {
		most = max(most, j.RMS())
	}
	return most
}

func (s *Site) scaleTo(amps float64) {
	by := amps / s.mostAmps()
	for i := range s.Panel.Loads {
		s.Panel.Loads[i].VA *= by
	}
}

// rating is the smallest usual rating of CTs that holds twice the present
// current (IEC 61869-2, 5.201, lists the values).
func (s *Site) rating() float64 {
	amps := 2 * s.mostAmps()
	for decade := 1.0; ; decade *= 10 {
		for _, a := range [...]float64{20, 30, 50, 75, 100, 150} {
			if a*decade >= amps {
				return a * decade
			}
		}
	}
}

// addBank adds capacitors that make every leg lead by 60 to 90 degrees: a
// balanced bank, as large as the leg that needs the most.
func (s *Site) addBank() {
	legs := s.Panel.Supply.Service.Legs()
	lead := math.Tan((62 + 24*s.rng.Float64()) * toRadians)
	f := s.Panel.Flow(false)
	most := 0.0
	for i := range legs {
		p := f.Power(leg(i))
		most = max(most, math.Abs(real(p))*lead+imag(p))
	}
	bank := Load{Name: "capacitor bank", Kind: Capacitor, VA: 3 * most, Lag: -89}
	if legs == 3 {
		s.Panel.Loads = append(s.Panel.Loads, bank)
		return
	}
	bank.VA = most
	for i := range legs {
		bank.Across = ToNeutral(leg(i))
		s.Panel.Loads = append(s.Panel.Loads, bank)
	}
}

// addOdd adds a load about as large as the rest of its leg, far from the usual angles.
func (s *Site) addOdd(f *furnisher) {
	odd := Load{Name: "odd load", Kind: IdlingMotor, Across: f.place(Motor), Lag: 60 + 25*s.rng.Float64()}
	if s.rng.Float64() < 0.4 {
		odd.Kind, odd.Lag = Capacitor, -40-45*s.rng.Float64()
	}
	total := s.Panel.Flow(false).Loads
	odd.VA = max(leastVA, cmplx.Abs(total)*(0.2+0.5*s.rng.Float64()))
	s.Panel.Loads = append(s.Panel.Loads, odd)
}

// addWelder adds a load between two legs, three to eight times as large as all
// others, at a power factor of 0.4 to 0.7 (common practice, no source).
func (s *Site) addWelder(f *furnisher) {
	m := f.mix
	m.ToNeutral, m.BetweenLegs, m.ThreePhase = 0, 1, 0
	welder := Load{Name: "welder", Kind: Motor, Lag: 45 + 21*s.rng.Float64(), Across: newFurnisher(s.rng, s.Panel.Supply, m).place(Motor)}
	welder.VA = max(usualVA, cmplx.Abs(s.Panel.Flow(false).Loads)) * (3 + 5*s.rng.Float64())
	s.Panel.Loads = append(s.Panel.Loads, welder)
}

// addInverter adds one on all legs that gives back so many times the power of the loads.
func (s *Site) addInverter(times float64) {
	legs := s.Panel.Supply.Service.Legs()
	h := habits[Generation]
	inverter := Load{Name: "inverter", Kind: Generation, Lag: h.low + (h.high-h.low)*s.rng.Float64()}
	inverter.VA = times * max(usualVA, real(s.Panel.Flow(false).Loads))
	switch legs {
	case 3:
	case 2:
		inverter.Across = Between(LegA, LegB)
	default:
		inverter.Across = ToNeutral(LegA)
	}
	s.Panel.Loads = append(s.Panel.Loads, inverter)
}

// ReadWhileMoving takes one reading whose channels are of different instants:
// a load is switched between one channel and the next.
func (s *Site) ReadWhileMoving() reading.Reading {
	r := s.Read()
	for k := 1; k < len(r.Channels); k++ {
		s.Step()
		f := s.Panel.Flow(s.Wiring.NeutralLost)
		r.Channels[k] = s.Meter.Read(&f, &s.Wiring, s.rng).Channels[k]
	}
	return r
}

// Read takes one reading, a second after the last.
func (s *Site) Read() reading.Reading {
	f := s.Panel.Flow(s.Wiring.NeutralLost)
	r := s.Meter.Read(&f, &s.Wiring, s.rng)
	s.at = s.at.Add(time.Second)
	r.At, r.Service = s.at, s.Panel.Supply.Service.Name
	return r
}

// Truth says what is wired where and what flows at present.
func (s *Site) Truth() Truth {
	f := s.Panel.Flow(s.Wiring.NeutralLost)
	return truthOf(s.Panel.Supply, &s.Wiring, &f)
}

// Step switches one load, now and then two at once. It keeps two loads on.
func (s *Site) Step() {
	times := 1
	if s.rng.Float64() < 0.05 {
		times = 2
	}
	for range times {
		s.Switch(s.rng.IntN(len(s.Panel.Loads)))
	}
}

// Switch turns a load, counted from 0, on or off; the last two that are on stay on.
func (s *Site) Switch(i int) {
	l := &s.Panel.Loads[i]
	if l.Off || s.running() > 2 {
		l.Off = !l.Off
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

// Drift lets the voltages wander by about 3 in 1000, every load's size by about
// a hundredth, and its lag by a fraction of a degree.
func (s *Site) Drift() {
	for i := range s.Panel.Supply.Volts {
		s.Panel.Supply.Scale(leg(i), complex(1+0.003*s.rng.NormFloat64(), 0))
	}
	for i := range s.Panel.Loads {
		l := &s.Panel.Loads[i]
		l.VA *= math.Exp(0.01 * s.rng.NormFloat64())
		l.Lag += 0.3 * s.rng.NormFloat64()
	}
}
