package diagnose_test

import (
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"legwork/diagnose"
	"legwork/probe/reading"
)

// balancedBut is a wye with the same load on all legs, one channel's current, and so its
// powers, read by a factor.
func balancedBut(channel int, factor float64, rng *rand.Rand) reading.Reading {
	r := reading.Reading{Channels: make([]reading.Channel, 3)}
	lag, amps := reading.Angle(50*rng.Float64()), 20+60*rng.Float64()
	for k := range r.Channels {
		c := &r.Channels[k]
		v, i := 120*(1+0.003*rng.NormFloat64()), amps*(1+0.003*rng.NormFloat64())
		if k == channel {
			i *= factor
		}
		c.Voltage, c.Current = reading.Known(v), reading.Known(i)
		c.Power, c.Reactive = reading.Known(v*i*lag.Cos()), reading.Known(v*i*lag.Sin())
		c.VoltageAngle = reading.Known(reading.Degrees(-120 * float64(k)))
	}
	return r
}

// One channel that reads ten times too much or too little beside two that are alike is a
// question about its ratio: right wiring doesn't stand beside it, nor a CT on the neutral.
func TestOneChannelsRatioByTheLegsBalance(t *testing.T) {
	rng := rand.New(rand.NewPCG(10, 28))
	for _, row := range []struct {
		factor float64
		least  int
	}{{10, 54}, {0.1, 54}, {100, 40}, {0.5, 0}, {2, 0}} {
		factor, least := row.factor, row.least
		said := 0
		for n := range 60 {
			r := balancedBut(n%3, factor, rng)
			d := diagnose.Diagnose([]reading.Reading{r}, diagnose.Options{Tables: tables, Service: "120/208Y"})
			require.NotEqual(t, diagnose.Fault, d.Verdict, "%g: %s", factor, d.Summary)
			if least > 0 {
				require.Equal(t, diagnose.Undecided, d.Verdict, "%g: %s", factor, d.Summary)
			}
			if strings.Contains(d.Summary, "The CT ratio, or the scale") {
				said++
				require.Contains(t, d.NextTests[0].Ask, "Clamp the conductor")
			}
		}
		t.Logf("%g: told in %d of 60", factor, said)
		require.GreaterOrEqual(t, said, least, "%g", factor)
	}
}
