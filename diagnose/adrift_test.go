package diagnose_test

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"legwork/diagnose"
	"legwork/diagnose/wiring"
	"legwork/probe/reading"
)

// floating is what a meter reads of a panel whose neutral is lost: loads of admittance Y_m
// hang between the legs and a point that nothing else holds, so it stands at
//
//	N = sum of Y_m E_m / sum of Y_m
//
// (Millman's theorem), and the currents add up to nothing. Angles are left out or given.
func floating(s wiring.Service, rng *rand.Rand, angles bool) (r reading.Reading, most float64) {
	sequences := s.Sequences()
	e := s.LegPhasors(sequences[rng.IntN(len(sequences))])
	var y [3]complex128
	var sum, pulled complex128
	for m := range s.Legs() {
		y[m] = cmplx.Rect(math.Exp(rng.Float64()*3), -rng.Float64()*0.7)
		sum, pulled = sum+y[m], pulled+y[m]*e[m]
	}
	neutral := pulled / sum
	r.Channels = make([]reading.Channel, s.Channels())
	for k := range r.Channels {
		v := (e[k] - neutral) * complex(s.Nominal*(1+0.002*rng.NormFloat64()), 0)
		i := y[k] * (e[k] - neutral) * 12
		c := &r.Channels[k]
		c.Voltage, c.Current = reading.Known(cmplx.Abs(v)), reading.Known(cmplx.Abs(i))
		c.Power, c.Reactive = reading.Known(real(v*cmplx.Conj(i))), reading.Known(imag(v*cmplx.Conj(i)))
		if angles {
			c.VoltageAngle = reading.Known(reading.Degrees(cmplx.Phase(v) * 180 / math.Pi))
		}
		most = math.Max(most, cmplx.Abs(v)/s.Nominal)
	}
	return r, most
}

// A neutral that the loads pull far away looks like another service, or like inputs that are
// dead, low or crossed: it is told as the danger that it is, whatever was declared.
func TestANeutralFarAwayIsADanger(t *testing.T) {
	tabulates(t)
	rng := rand.New(rand.NewPCG(12, 28))
	for _, name := range []string{"120/240", "120/208N", "120/208Y", "277/480Y", "230/400Y"} {
		s, err := wiring.ParseService(name)
		require.NoError(t, err)
		for _, declared := range []string{name, ""} {
			panels, kept := 0, 0
			for panels < 40 {
				r, most := floating(s, rng, panels%2 == 0)
				if most < 1.2 {
					continue
				}
				panels++
				d := diagnose.Diagnose([]reading.Reading{r}, diagnose.Options{Tables: tables, Service: declared})
				require.NotEqual(t, diagnose.Agrees, d.Verdict, "%s: %s", name, d.Summary)
				if d.KeepAway {
					kept++
					require.Empty(t, d.NextTests)
				}
			}
			t.Logf("%s declared %q: keep away in %d of %d", name, declared, kept, panels)
			require.GreaterOrEqual(t, kept, 36, "%s declared %q", name, declared)
		}
	}
}

// A four-wire delta that is declared a wye is a wrong declaration, and no danger.
func TestAHighLegIsNoLostNeutral(t *testing.T) {
	r := reading.Reading{Channels: make([]reading.Channel, 3)}
	for k, v := range []float64{119.2, 120, 207} {
		c := &r.Channels[k]
		c.Voltage, c.Current = reading.Known(v), reading.Known(30.)
		c.Power, c.Reactive = reading.Known(0.9*v*30), reading.Known(0.43*v*30)
		c.VoltageAngle = reading.Known(reading.Degrees([]float64{0, 180, 90}[k]))
	}
	d := diagnose.Diagnose([]reading.Reading{r}, diagnose.Options{Tables: tables, Service: "120/208Y"})
	require.False(t, d.KeepAway, d.Summary)
	require.Contains(t, d.Summary, "The voltages fit the service 120/240D, not 120/208Y")
}
