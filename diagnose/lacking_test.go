package diagnose_test

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"legwork/diagnose"
	"legwork/probe/reading"
)

// Current flows, and the voltage isn't read: that is said, and asked for, not load.
func TestChannelsThatLackAVoltage(t *testing.T) {
	in := branch{e: [3]complex128{phasor(277, 0), phasor(277, -120), phasor(277, 120)},
		j: [3]complex128{phasor(12, -10), phasor(14, -135), phasor(11, 100)}}.wye(277, right)
	in.Channels[1].Voltage = reading.Value{}
	r := diagnose.Diagnose([]reading.Reading{in}, diagnose.Options{Tables: tables, Service: "277/480Y"})
	require.Equal(t, diagnose.Undecided, r.Verdict)
	require.Contains(t, r.Summary, "channel 2 can't be judged: the readings lack voltage.2")
	require.Equal(t, "points", r.NextTests[0].Test)
	require.Contains(t, r.NextTests[0].Ask, "voltage.2")

	in.Channels[0].Voltage, in.Channels[2].Voltage = reading.Value{}, reading.Value{}
	r = diagnose.Diagnose([]reading.Reading{in}, diagnose.Options{Tables: tables, Service: "277/480Y"})
	require.Equal(t, diagnose.Undecided, r.Verdict)
	require.Equal(t, "Channels 1, 2 and 3 can't be judged: the readings lack voltage.1, voltage.2 and voltage.3.", r.Summary)
	require.Equal(t, "points", r.NextTests[0].Test)

	for k := range in.Channels { // beside too little current nothing is lacking
		in.Channels[k].Current = reading.Known(0.5)
	}
	r = diagnose.Diagnose([]reading.Reading{in}, diagnose.Options{Tables: tables, Service: "277/480Y"})
	require.Contains(t, r.Summary, "No channel carries enough current")
}

// What isn't decided gives no move, whatever the explanation that leads.
func TestUndecidedMovesNothing(t *testing.T) {
	tabulates(t)
	undecided := 0
	for _, fault := range []string{"ct2-on-neutral", "ct1-ct2-crossed", "cts-reversed"} {
		for i := range uint64(60) {
			b := belief{loads: mixOf("mixed"), fault: fault}
			r := diagnose.Diagnose(b.reads(t, b.site(t, rand.New(rand.NewPCG(i, 3)), "120/208Y")), diagnose.Options{Tables: tables, Service: "120/208Y"})
			if r.Verdict != diagnose.Undecided {
				continue
			}
			undecided++
			for _, x := range r.Explanations {
				require.Empty(t, x.Moves, x.Words)
			}
		}
	}
	require.Greater(t, undecided, 30)
}
