package sim

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"legwork/probe/reading"
)

// balanced is a wye with three equal loads to neutral of power 1 in each leg.
func balanced(t *testing.T, phi float64, backward bool) *Panel {
	s, err := NewSupply("120/208Y", backward)
	require.NoError(t, err)
	p := &Panel{Supply: s}
	for _, leg := range s.Legs {
		p.Loads = append(p.Loads, Load{VA: 1 / math.Cos(phi*math.Pi/180), Lag: phi, From: leg, To: Neutral})
	}
	return p
}

// ideal reads without error, noise or steps, currents below the starting one too.
func ideal(p *Panel, w *Wiring) reading.Reading {
	for i := range p.Loads {
		p.Loads[i].VA *= 1e4
	}
	r := (&Meter{}).read(p, w, rand.New(rand.NewPCG(1, 1)))
	for i := range p.Loads {
		p.Loads[i].VA /= 1e4
	}
	return r
}

// Angles and registrations follow from theta = phi + 120 s (m - k) + 180 r.
func TestBalancedLoadUnderEveryArrangement(t *testing.T) {
	tan := func(d float64) float64 { return math.Tan(d * math.Pi / 180) }
	root := math.Sqrt(3) / 2
	for name, x := range map[string]struct {
		mistakes     string
		turns        [3]float64 // theta - phi
		registration func(phi float64) float64
	}{
		"right":                              {"", [3]float64{0, 0, 0}, func(float64) float64 { return 1 }},
		"CT 1 reversed":                      {"ct1-reversed", [3]float64{180, 0, 0}, func(float64) float64 { return 1. / 3 }},
		"CTs 1 and 2 reversed":               {"ct1-reversed,ct2-reversed", [3]float64{180, 180, 0}, func(float64) float64 { return -1. / 3 }},
		"all reversed":                       {"cts-reversed", [3]float64{180, 180, 180}, func(float64) float64 { return -1 }},
		"CTs 2 and 3 crossed":                {"ct2-ct3-crossed", [3]float64{0, 120, -120}, func(float64) float64 { return 0 }},
		"2 and 3 crossed, both reversed":     {"ct2-ct3-crossed,ct2-reversed,ct3-reversed", [3]float64{0, -60, 60}, func(float64) float64 { return 2. / 3 }},
		"rolled":                             {"cts-rolled", [3]float64{120, 120, 120}, func(p float64) float64 { return -.5 - root*tan(p) }},
		"rolled the other way":               {"cts-rolled-back", [3]float64{-120, -120, -120}, func(p float64) float64 { return -.5 + root*tan(p) }},
		"rolled, all reversed":               {"cts-rolled,cts-reversed", [3]float64{-60, -60, -60}, func(p float64) float64 { return .5 + root*tan(p) }},
		"rolled the other way, all reversed": {"cts-rolled-back,cts-reversed", [3]float64{60, 60, 60}, func(p float64) float64 { return .5 - root*tan(p) }},
	} {
		t.Run(name, func(t *testing.T) {
			for _, phi := range []float64{-25, 0, 30, 45} {
				p := balanced(t, phi, false)
				w := RightWiring(p.Supply)
				require.NoError(t, ApplyMistakes(&w, p.Supply, x.mistakes))
				for k, c := range ideal(p, &w).Channels {
					require.InDelta(t, 0, float64(c.Angle.Or(-999).Minus(reading.Degrees(phi+x.turns[k]))), 1e-4, "phi %g channel %d", phi, k+1)
				}
				truth := w.truth(p)
				require.InDelta(t, x.registration(phi), truth.Registered/truth.Total, 1e-4, "phi %g", phi)
			}
		})
	}
}
