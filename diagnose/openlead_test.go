package diagnose_test

import (
	"math/cmplx"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"legwork/diagnose"
	"legwork/probe/reading"
	"legwork/sim"
)

// Two legs of a wye, and the meter's neutral lead open: its inputs, alike, share the voltage
// between the legs, 104 V each, opposite. Powers are those of these voltages.
func TestMetersNeutralLeadOpen(t *testing.T) {
	rng := rand.New(rand.NewPCG(77, 1))
	judged := 0
	for range 100 {
		site := belief{loads: sim.MixedLoads()}.site(t, rng, "120/208N")
		for _, info := range []sim.Information{sim.Everything, sim.NoVoltageAngles, sim.PowerOnly} {
			in := site.Read()
			angle := in.Channels[1].VoltageAngle.Or(0)
			sequence := 1.0
			if angle > 0 {
				sequence = -1
			}
			v1, v2 := phasor(in.Channels[0].Voltage.Or(0), 0), phasor(in.Channels[1].Voltage.Or(0), float64(angle))
			half := (v1 - v2) / 2
			for k, v := range []complex128{half, -half} {
				c := &in.Channels[k]
				turn := 30 * sequence * float64(1-2*k) // of the input, as seen from its leg
				theta := reading.Degrees(float64(c.Angle.Or(0)) + turn)
				amps := c.Current.Or(0)
				*c = reading.Channel{Voltage: reading.Known(cmplx.Abs(v)), Current: c.Current, VoltageAngle: reading.Known(deg(v / half)),
					Angle: reading.Known(theta), Power: reading.Known(cmplx.Abs(v) * amps * theta.Cos()), Reactive: reading.Known(cmplx.Abs(v) * amps * theta.Sin())}
			}
			in.LineVoltages, in.TotalPower, in.TotalReactive = [3]reading.Value{reading.Known(2 * cmplx.Abs(half))}, reading.Value{}, reading.Value{}
			in.Service = ""
			if info != sim.Everything && cmplx.Abs(half) > 105 {
				continue // by sizes alone a supply as low is as likely
			}
			judged++
			info.Strip(&in)
			r := diagnose.Diagnose([]reading.Reading{in}, diagnose.Options{Tables: tables, Service: "120/208N"})
			require.NotEqual(t, diagnose.Agrees, r.Verdict, "%s: %s", info, r.Summary)
			if r.KeepAway {
				continue
			}
			require.Equal(t, diagnose.Undecided, r.Verdict, "%s: %s", info, r.Summary)
			require.Equal(t, "voltage", r.NextTests[0].Test, "%s: %s", info, r.Summary)
			require.Contains(t, r.NextTests[0].Ask, "the meter's neutral lead is open")
			if info == sim.Everything {
				require.Contains(t, r.Summary, "The meter's neutral lead may be open")
			}
		}
	}
	require.Greater(t, judged, 200)
}
