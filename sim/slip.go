package sim

import (
	"fmt"
	"math/rand/v2"
)

// Slips says how often a random mistake is of which sort; they need not sum to
// one. What a service can't have is left out.
type Slips struct {
	OneReversed     float64 // one CT
	TwoReversed     float64 // of three
	AllReversed     float64
	Crossed         float64 // two CTs
	CrossedReversed float64 // two CTs, one or both of them reversed too
	Rolled          float64 // either way
	RolledReversed  float64 // and all reversed
	TwoOnOne        float64 // two CTs round one conductor
	InputsCrossed   float64 // two voltage inputs
}

// UsualSlips has one reversed CT as the commonest. An assumption of ours, no source.
func UsualSlips() Slips {
	return Slips{OneReversed: 0.36, TwoReversed: 0.07, AllReversed: 0.1, Crossed: 0.2, CrossedReversed: 0.12,
		Rolled: 0.06, RolledReversed: 0.02, TwoOnOne: 0.02, InputsCrossed: 0.05}
}

// on are the shares that a service with so many channels can have.
func (p Slips) on(channels int) []float64 {
	shares := []float64{p.OneReversed, p.TwoReversed, p.AllReversed, p.Crossed, p.CrossedReversed,
		p.Rolled, p.RolledReversed, p.TwoOnOne, p.InputsCrossed}
	switch channels {
	case 1:
		clear(shares[1:])
	case 2:
		shares[1], shares[5], shares[6] = 0, 0, 0
	}
	return shares
}

// draw gives the names of one random mistake on a service.
func (p Slips) draw(rng *rand.Rand, s Service) string {
	n := s.Channels()
	i := 1 + rng.IntN(n)
	j := i
	if n > 1 {
		j = 1 + (i+rng.IntN(n-1))%n
	}
	reversed, other := fmt.Sprintf("ct%d-reversed", i), fmt.Sprintf("ct%d-reversed", j)
	crossed := fmt.Sprintf("ct%d-ct%d-crossed", i, j)
	roll := [...]string{"cts-rolled", "cts-rolled-back"}[rng.IntN(2)]
	both := [...]string{"", "", "," + other}[rng.IntN(3)]
	return [...]string{
		reversed, reversed + "," + other, "cts-reversed", crossed, crossed + "," + reversed + both,
		roll, roll + ",cts-reversed", fmt.Sprintf("ct%d-on-leg%d", i, s.home(j-1).index()+1), fmt.Sprintf("v%d-v%d-crossed", i, j),
	}[choose(rng, p.on(n))]
}

// Mistake makes one random mistake, of the sorts in Slips, with a probability.
// Made says which. The error is a mistake that the service can't have.
func (s *Site) Mistake(share float64) error {
	if s.rng.Float64() >= share {
		return nil
	}
	return s.Make(s.Slips.draw(s.rng, s.Panel.Supply.Service))
}

// Make makes the mistakes of a comma list.
func (s *Site) Make(list string) error {
	mistakes, err := ParseMistakes(s.Panel.Supply.Service.Name, list)
	if err != nil {
		return err
	}
	for _, m := range mistakes {
		m.Apply(&s.Wiring)
		s.Made = append(s.Made, m.Name)
	}
	return nil
}
