package diagnose_test

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"legwork/diagnose"
	"legwork/probe/reading"
)

// counted are readings of a panel over some minutes, with its registers of energy in Wh.
func counted(every time.Duration, mend func(i int, r *reading.Reading)) []reading.Reading {
	var all []reading.Reading
	amps, lag := [3]float64{26, 39, 31}, [3]float64{10, 25, 5}
	var energy [3]float64
	for i := range 40 {
		r := reading.Reading{Service: "120/208Y", At: time.Date(2026, 5, 4, 9, 30, 0, 0, time.UTC).Add(time.Duration(i) * every)}
		total := 0.0
		if i%5 == 4 {
			amps[i%3] += 6
		}
		for k := range amps {
			s, turn := 120*amps[k], lag[k]*math.Pi/180
			watts := s * math.Cos(turn)
			energy[k] += watts * every.Hours()
			total += energy[k]
			r.Channels = append(r.Channels, reading.Channel{Voltage: reading.Known(120.0), Current: reading.Known(amps[k]), Power: reading.Known(watts),
				Reactive: reading.Known(s * math.Sin(turn)), EnergyImport: reading.Known(math.Floor(8e4 + energy[k])), EnergyExport: reading.Known(713.0)})
		}
		r.TotalEnergyImport = reading.Known(math.Floor(2.4e5 + total))
		mend(i, &r)
		all = append(all, r)
	}
	return all
}

func perChannel(change func(c *reading.Channel)) func(i int, r *reading.Reading) {
	return func(_ int, r *reading.Reading) {
		for k := range r.Channels {
			change(&r.Channels[k])
		}
	}
}

func scaled(v *reading.Value, by float64) {
	*v = v.Map(func(x float64) float64 { return x * by })
}

// Registers of energy are held against the power over time: it alone tells a scale that
// power and current share, and which way power is counted.
func TestEnergyIsHeldAgainstPower(t *testing.T) {
	nothing := func(int, *reading.Reading) {}
	reversed := perChannel(func(c *reading.Channel) { scaled(&c.Power, -1); scaled(&c.Reactive, -1) })
	for name, one := range map[string]struct {
		mend    func(i int, r *reading.Reading)
		every   time.Duration
		verdict diagnose.Verdict
		point   string // of the data fault; empty for none
		says    string
	}{
		"right":       {nothing, 15 * time.Second, diagnose.Agrees, "", "every CT sits where it belongs"},
		"too short":   {perChannel(func(c *reading.Channel) { scaled(&c.EnergyImport, 10) }), 10 * time.Millisecond, diagnose.Agrees, "", "every CT sits"},
		"energy x 10": {perChannel(func(c *reading.Channel) { scaled(&c.EnergyImport, 10) }), 15 * time.Second, diagnose.Undecided, "energy_import.1", "0.1"},
		"total / 1000": {func(_ int, r *reading.Reading) { scaled(&r.TotalEnergyImport, 1e-3) }, time.Minute, diagnose.Undecided,
			"total_energy_import", "multiply its scale by 1000"},
		"power and current x 10": {perChannel(func(c *reading.Channel) { scaled(&c.Power, 10); scaled(&c.Reactive, 10); scaled(&c.Current, 10) }), 15 * time.Second,
			diagnose.Undecided, "total_energy_import", "those of current and power by 0.1"},
		"import is something else": {perChannel(func(c *reading.Channel) { scaled(&c.EnergyImport, 3.7) }), 15 * time.Second, diagnose.Undecided,
			"energy_import.1", "check its address"},
	} {
		r := diagnose.Diagnose(counted(one.every, one.mend), diagnose.Options{Tables: tables})
		require.Equal(t, one.verdict, r.Verdict, "%s: %s", name, r.Summary)
		if one.point == "" {
			require.Empty(t, r.DataFaults, name)
			require.Contains(t, r.Summary, one.says, name)
			continue
		}
		require.Equal(t, one.point, r.DataFaults[0].Point, name)
		require.Contains(t, r.DataFaults[0].Mend, one.says, name)
		require.Equal(t, "map", r.NextTests[0].Test, name)
	}
	// The steps of 32 bits at 1 GWh say nothing of some seconds.
	for every := 100 * time.Millisecond; every < 2*time.Second; every += 100 * time.Millisecond {
		r := diagnose.Diagnose(counted(every, perChannel(func(c *reading.Channel) {
			c.EnergyImport = c.EnergyImport.Map(func(x float64) float64 { return float64(float32(1e9 + x)) })
		})), diagnose.Options{Tables: tables})
		require.Empty(t, r.DataFaults, "%s", every)
	}

	// A fault that shows stands beside an energy that is misread.
	both := counted(15*time.Second, func(_ int, r *reading.Reading) {
		scaled(&r.Channels[0].EnergyImport, 10)
		scaled(&r.Channels[1].Power, -1)
		scaled(&r.Channels[1].Reactive, -1)
	})
	r := diagnose.Diagnose(both, diagnose.Options{Tables: tables})
	require.Equal(t, diagnose.Fault, r.Verdict, r.Summary)
	require.Contains(t, r.Summary, "CT 2 is reversed")

	// All reversed, and the export register counts it; or the import register does.
	export := counted(15*time.Second, func(i int, r *reading.Reading) {
		reversed(i, r)
		perChannel(func(c *reading.Channel) { c.EnergyImport, c.EnergyExport = c.EnergyExport, c.EnergyImport })(i, r)
		r.TotalEnergyImport = reading.Value{}
	})
	r = diagnose.Diagnose(export, diagnose.Options{Tables: tables, Generation: diagnose.GenerationNone})
	require.Contains(t, r.Summary, "All CTs are reversed")
	require.Equal(t, diagnose.Fault, r.Verdict, r.Summary)
	signed := counted(15*time.Second, func(i int, r *reading.Reading) {
		perChannel(func(c *reading.Channel) { scaled(&c.Power, -1); c.Reactive = reading.Value{} })(i, r)
	})
	r = diagnose.Diagnose(signed, diagnose.Options{Tables: tables, Generation: diagnose.GenerationNone})
	without := diagnose.Diagnose(counted(15*time.Second, func(i int, r *reading.Reading) {
		perChannel(func(c *reading.Channel) {
			scaled(&c.Power, -1)
			c.Reactive, c.EnergyImport, c.EnergyExport = reading.Value{}, reading.Value{}, reading.Value{}
		})(i, r)
		r.TotalEnergyImport = reading.Value{}
	}), diagnose.Options{Tables: tables, Generation: diagnose.GenerationNone})
	require.Equal(t, diagnose.Fault, without.Verdict, without.Summary)
	require.Equal(t, diagnose.Undecided, r.Verdict, r.Summary)
	require.Less(t, r.Explanations[0].Probability, without.Explanations[0].Probability)
	hidden := counted(15*time.Second, func(i int, r *reading.Reading) {
		perChannel(func(c *reading.Channel) { c.EnergyImport, c.EnergyExport = c.EnergyExport, c.EnergyImport })(i, r)
		r.TotalEnergyImport = reading.Value{}
	})
	r = diagnose.Diagnose(hidden, diagnose.Options{Tables: tables})
	require.Equal(t, diagnose.Undecided, r.Verdict, "export grows while power flows forward: %s", r.Summary)
	require.Equal(t, diagnose.CauseMap, r.Explanations[0].Cause)
	require.Contains(t, r.Explanations[0].Mends[0].Change, "import and export are exchanged")
}
