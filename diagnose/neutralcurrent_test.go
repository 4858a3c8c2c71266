package diagnose_test

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"legwork/diagnose"
	"legwork/probe/reading"
	"legwork/sim"
)

// The current of the neutral, measured by a CT of its own or added up from the channels,
// which nobody says: it tells of a CT on the neutral and of a reversed one as far as it is
// measured, and costs nothing where it isn't.
func TestWorldsNeutralsCurrent(t *testing.T) {
	tabulates(t)
	t.Log(toldHead)
	for _, c := range []struct {
		name, fault    string
		measured       bool
		agrees, called float64 // at most
		named          float64 // at least
	}{
		{"measured: right", "", true, 1, 0, 0.97},
		{"measured: one on it", "ct2-on-neutral", true, 0.03, 0.01, 0.25},
		{"measured: one on it, turned", "ct2-on-neutral,ct2-reversed", true, 0.06, 0.01, 0.3},
		{"measured: one reversed", "ct2-reversed", true, 0, 0.003, 0.95},
		{"added up: right", "", false, 1, 0, 0.97},
		{"added up: one reversed", "ct2-reversed", false, 0, 0.01, 0.87},
		{"added up: two crossed", "ct1-ct2-crossed", false, 0, 0.01, 0.64},
	} {
		right := rightlyWired
		if c.measured && c.fault != "" && c.fault != "ct2-reversed" {
			right = onNeutral
		}
		var all told
		for i, loads := range []sim.Mix{sim.MixedLoads(), sim.MotorLoads(), sim.HeatLoads()} {
			b := belief{services: wyes, loads: loads, fault: c.fault, meter: func(m *sim.Meter) { m.NeutralCT = c.measured }}
			all = all.plus(b.run(t, 120, uint64(213+i), right))
		}
		t.Log(all.row(c.name))
		atMost(t, c.agrees, all.agrees, all.panels, c.name)
		atMost(t, c.called, all.called, all.panels, c.name)
		atLeast(t, c.named, all.named, all.panels, c.name)
		require.Zero(t, all.silent)
	}
}

// A register that is always nothing, or more than all legs carry, says nothing.
func TestNeutralRegistersThatSayNothing(t *testing.T) {
	site := belief{loads: sim.MixedLoads()}.site(t, rand.New(rand.NewPCG(5, 5)), "120/208Y")
	in := site.Read()
	in.NeutralCurrent = reading.Value{}
	without := diagnose.Diagnose([]reading.Reading{in}, diagnose.Options{Tables: tables})
	for _, amps := range []float64{0, 1e6, -3} {
		in.NeutralCurrent = reading.Known(amps)
		with := diagnose.Diagnose([]reading.Reading{in}, diagnose.Options{Tables: tables})
		require.Equal(t, without.Summary, with.Summary, amps)
		require.InDelta(t, without.Explanations[0].Probability, with.Explanations[0].Probability, 1e-12, amps)
	}
}
