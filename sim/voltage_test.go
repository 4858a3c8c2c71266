package sim

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
)

// loaded is a service with a resistive load on every leg.
func loaded(t testing.TB, service string, q Sequence) *Panel {
	p := &Panel{Supply: supplyOf(t, service, q)}
	for i := range p.Supply.Service.Legs() {
		l := Load{VA: 2400, Across: ToNeutral(leg(i))}
		if !p.Supply.Service.HasNeutral() {
			l.Across = Between(leg(i), leg((i+1)%3))
		}
		p.Loads = append(p.Loads, l)
	}
	return p
}

// What the voltage inputs read, per unit of nominal, with the angles from input
// 1; by plane geometry of the service's triangle.
func TestVoltages(t *testing.T) {
	root := math.Sqrt(3)
	for name, x := range map[string]struct {
		service  string
		sequence Sequence
		mistakes string
		sizes    []float64
		angles   []float64
	}{
		"wye":                              {"347/600Y", ABC, "", []float64{1, 1, 1}, []float64{0, -120, 120}},
		"wye, ACB":                         {"230/400Y", ACB, "", []float64{1, 1, 1}, []float64{0, 120, -120}},
		"neutral and leg A crossed":        {"120/208Y", ABC, "vn-v1-crossed", []float64{1, root, root}, []float64{0, 30, -30}},
		"neutral and leg A crossed, ACB":   {"120/208Y", ACB, "vn-v1-crossed", []float64{1, root, root}, []float64{0, -30, 30}},
		"two inputs on one leg":            {"120/208Y", ABC, "v2-on-leg1", []float64{1, 1, 1}, []float64{0, 0, 120}},
		"two inputs crossed":               {"120/208Y", ABC, "v2-v3-crossed", []float64{1, 1, 1}, []float64{0, 120, -120}},
		"meter's neutral lost":             {"120/208Y", ABC, "meter-neutral-lost", []float64{1, 1, 1}, []float64{0, -120, 120}},
		"split phase":                      {"120/240", ABC, "", []float64{1, 1}, []float64{0, 180}},
		"split phase, neutral crossed":     {"120/240", ABC, "vn-v1-crossed", []float64{1, 2}, []float64{0, 0}},
		"two legs of a wye":                {"120/208N", ABC, "", []float64{1, 1}, []float64{0, -120}},
		"two legs, neutral crossed":        {"120/208N", ABC, "vn-v1-crossed", []float64{1, root}, []float64{0, 30}},
		"two wires":                        {"230", ABC, "", []float64{1}, []float64{0}},
		"delta":                            {"600D", ABC, "", []float64{1, 1}, []float64{0, 60}},
		"delta, ACB":                       {"600D", ACB, "", []float64{1, 1}, []float64{0, -60}},
		"delta, common lead open":          {"480D", ABC, "meter-neutral-lost", []float64{.5, .5}, []float64{0, 180}},
		"four-wire delta, high leg B":      {"120/240D", ABC, "", []float64{1, root, 1}, []float64{0, -90, 180}},
		"four-wire delta, high leg B, ACB": {"120/240D", ACB, "", []float64{1, root, 1}, []float64{0, 90, 180}},
		"back-fed":                         {"120/208Y", ABC, "v2-low", []float64{1, .35, 1}, []float64{0, -120, 120}},
	} {
		t.Run(name, func(t *testing.T) {
			p := loaded(t, x.service, x.sequence)
			r := ideal(p, miswired(t, p.Supply, x.mistakes))
			require.Len(t, r.Channels, len(x.sizes))
			for k, c := range r.Channels {
				require.InDelta(t, x.sizes[k], c.Voltage.Or(0)/p.Supply.Service.Nominal, 1e-6, "channel %d", k+1)
				requireAngle(t, x.angles[k], c.VoltageAngle, "channel %d", k+1)
			}
		})
	}
}

// The high leg of a four-wire delta stands a quarter turn from the line between
// the others, wherever it is, and the line voltages are all 240 V.
func TestHighLegAnywhere(t *testing.T) {
	for _, q := range []Sequence{ABC, ACB} {
		for _, high := range []Conductor{LegA, LegB, LegC} {
			p := loaded(t, "120/240D", q)
			p.Supply.MoveHighLeg(high)
			w := RightWiring(p.Supply)
			r := ideal(p, &w)
			for k, c := range r.Channels {
				want := 120.0
				if leg(k) == high {
					want *= math.Sqrt(3)
				}
				require.InDelta(t, want, c.Voltage.Or(0), 1e-6)
				require.InDelta(t, 240, r.LineVoltages[k].Or(0), 1e-6)
			}
			v := p.Supply.Volts
			turns := imag((v[1]-v[0])*complex(real(v[2]-v[1]), -imag(v[2]-v[1]))) > 0 // clockwise A, B, C
			require.Equal(t, q == ABC, turns, "%s at %s", high, q)
		}
	}
}

// A balanced three-phase load at lag phi reads phi + 30 and phi - 30 on the two
// low legs and phi on the high one.
func TestThreePhaseLoadOnFourWireDelta(t *testing.T) {
	p := &Panel{Supply: supplyOf(t, "120/240D", ABC), Loads: []Load{{VA: 9000, Lag: 40, Across: ThreePhase()}}}
	w := RightWiring(p.Supply)
	r := ideal(p, &w)
	requireAngle(t, 40, r.Channels[1].Angle, "high leg")
	a, c := float64(r.Channels[0].Angle.Or(0)), float64(r.Channels[2].Angle.Or(0))
	require.InDelta(t, 10, min(a, c), 1e-6)
	require.InDelta(t, 70, max(a, c), 1e-6)
}

// A load across two legs of a wye: its current stands 30 degrees ahead of the
// voltage in one leg and 30 behind in the other.
func TestLoadBetweenLegs(t *testing.T) {
	p := &Panel{Supply: supplyOf(t, "120/208Y", ABC), Loads: []Load{{VA: 2080, Across: Between(LegA, LegB)}}}
	w := RightWiring(p.Supply)
	r := ideal(p, &w)
	requireAngle(t, -30, r.Channels[0].Angle, "leg A")
	requireAngle(t, 30, r.Channels[1].Angle, "leg B")
	require.False(t, r.Channels[2].Angle.Known())
	require.InDelta(t, 2080, r.TotalPower.Or(0), 1e-6)
	require.InDelta(t, 0, r.NeutralCurrent.Or(1), 1e-9)
}

// Loads of 1 to 3 on the halves of 240 V with the neutral lost: 180 and 60 V.
func TestServiceNeutralLost(t *testing.T) {
	p := &Panel{Supply: supplyOf(t, "120/240", ABC), Loads: []Load{
		{VA: 1000, Across: ToNeutral(LegA)}, {VA: 3000, Kind: Motor, Across: ToNeutral(LegB)}}}
	r := ideal(p, miswired(t, p.Supply, "neutral-lost"))
	require.InDelta(t, 180, r.Channels[0].Voltage.Or(0), 1e-6)
	require.InDelta(t, 60, r.Channels[1].Voltage.Or(0), 1e-6)
	require.InDelta(t, r.Channels[0].Current.Or(0), r.Channels[1].Current.Or(1), 1e-9)
}

// A dead reference takes the angles between channels away, and only those.
func TestDeadReference(t *testing.T) {
	p := loaded(t, "120/208Y", ABC)
	r := ideal(p, miswired(t, p.Supply, "v1-dead"))
	require.False(t, r.Channels[0].Angle.Known())
	require.False(t, r.Channels[1].VoltageAngle.Known())
	requireAngle(t, 0, r.Channels[1].Angle, "channel 2")
}

// Third harmonics of rectifiers on the legs add up in the neutral, though the
// fundamentals cancel; those of a three-phase drive don't reach it.
func TestHarmonics(t *testing.T) {
	p := &Panel{Supply: supplyOf(t, "120/208Y", ABC)}
	for i := range 3 {
		p.Loads = append(p.Loads, Load{VA: 1200, Lag: 10, Distortion: 0.75, Across: ToNeutral(leg(i))})
	}
	w := RightWiring(p.Supply)
	r := ideal(p, &w)
	require.InDelta(t, 12.5, r.Channels[0].Current.Or(0), 1e-9) // 10 A by sqrt(1 + 0.75^2)
	require.InDelta(t, math.Cos(10*toRadians)/1.25, r.Channels[0].PowerFactor.Or(0), 1e-9)
	requireAngle(t, 10, r.Channels[0].Angle, "fundamental")
	require.InDelta(t, 22.5, r.NeutralCurrent.Or(0), 1e-9)

	p.Loads = []Load{{VA: 3600, Kind: Electronics, Distortion: 0.3, Across: ThreePhase()}}
	require.InDelta(t, 0, ideal(p, &w).NeutralCurrent.Or(1), 1e-9)
}
