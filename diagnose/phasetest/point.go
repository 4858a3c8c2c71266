package phasetest

import (
	"cmp"
	"fmt"

	"legwork/diagnose/wiring"
)

// Kind is what a probe of the tester touches.
type Kind uint8

// The kinds of point, in the order in which a pair names them.
const (
	Leg     Kind = iota + 1 // a main leg
	Pole                    // a pole of the breaker or fuses of the voltage taps
	Neutral                 // the neutral conductor
)

// Point is one place that a probe touches. Number counts legs and poles from 1;
// it is 0 for the neutral.
type Point struct {
	Kind   Kind
	Number int
}

// Pair is the two places of one reading, in the order of their kinds.
type Pair struct{ From, To Point }

// pairOf puts two points in order.
func pairOf(a, b Point) Pair {
	if cmp.Or(cmp.Compare(a.Kind, b.Kind), cmp.Compare(a.Number, b.Number)) > 0 {
		a, b = b, a
	}
	return Pair{a, b}
}

// tap is the pair of a pole and the neutral.
func tap(pole int) Pair { return Pair{Point{Pole, pole}, Point{Kind: Neutral}} }

// cross is the pair of a leg and a pole.
func cross(leg, pole int) Pair { return Pair{Point{Leg, leg}, Point{Pole, pole}} }

// touches reports whether one end is that pole.
func (p Pair) touches(pole int) bool {
	at := Point{Pole, pole}
	return p.From == at || p.To == at
}

// LegName is what a main leg is called: A, B, C on a wye or a delta, L1, L2 on a
// single-phase service. n counts from 1.
func LegName(s wiring.Service, n int) string {
	if numbered(s) {
		return fmt.Sprintf("L%d", n)
	}
	return string(rune('A' + n - 1))
}

// numbered reports a service whose legs have numbers, not letters.
func numbered(s wiring.Service) bool { return s.Kind == wiring.SplitPhase || s.Kind == wiring.TwoWire }

// PairName writes a pair as ParseReading reads it: A-1 for leg A and pole 1,
// 1-N for pole 1 and the neutral, A-B for two legs, P1-P2 for two poles.
func PairName(s wiring.Service, p Pair) string {
	if p.From.Kind == Pole && p.To.Kind == Pole {
		return fmt.Sprintf("P%d-P%d", p.From.Number, p.To.Number)
	}
	return pointName(s, p.From) + "-" + pointName(s, p.To)
}

func pointName(s wiring.Service, p Point) string {
	switch p.Kind {
	case Leg:
		return LegName(s, p.Number)
	case Pole:
		return fmt.Sprint(p.Number)
	}
	return "N"
}

// hasNeutral reports whether the service brings a neutral.
func hasNeutral(s wiring.Service) bool { return s.Kind != wiring.Delta }
