package diagnose_test

import (
	"testing"

	"legwork/diagnose"
	"legwork/diagnose/wiring"
	"legwork/probe/reading"
)

// One reading of a wye with all quantities, from reading to result.
func BenchmarkDiagnose(b *testing.B) {
	sub := feeder(b, "ieee13_metering_points.csv")[0]
	for name, a := range map[string]wiring.Arrangement{"right": right, "CT 2 reversed": {{Leg: 1}, {Leg: 2, Reversed: true}, {Leg: 3}}} {
		b.Run(name, func(b *testing.B) {
			readings := []reading.Reading{sub.wye(2401.78, a)}
			b.ReportAllocs()
			for b.Loop() {
				diagnose.Diagnose(readings, diagnose.Options{Tables: tables})
			}
		})
	}
}

// The poorest meter: V, I and P only, so that every angle has two signs.
func BenchmarkDiagnosePowerOnly(b *testing.B) {
	r := feeder(b, "ieee13_metering_points.csv")[0].wye(2401.78, right)
	for k := range r.Channels {
		c := &r.Channels[k]
		*c = reading.Channel{Voltage: c.Voltage, Current: c.Current, Power: c.Power}
	}
	b.ReportAllocs()
	for b.Loop() {
		diagnose.Diagnose([]reading.Reading{r}, diagnose.Options{Tables: tables})
	}
}
