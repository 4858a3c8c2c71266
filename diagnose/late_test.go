package diagnose_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"legwork/diagnose"
	"legwork/probe/reading"
)

// Registers that are means over a time, beside those of the moment: no change of load may be
// believed, and what the last reading shows by itself doesn't agree.
func TestRegistersOfDifferentTimesAreTold(t *testing.T) {
	steps := func() []reading.Reading { // the loads stand still between two changes
		var all []reading.Reading
		amps := [3]float64{6, 9, 7}
		lag := [3]float64{10, 25, 5}
		for i := range 16 {
			if i%4 == 3 {
				amps[i/4%3], lag[i/4%3] = amps[i/4%3]*1.8, lag[i/4%3]+8
			}
			r := reading.Reading{Service: "120/208Y"}
			for k := range amps {
				s, turn := 120*amps[k], lag[k]*math.Pi/180
				r.Channels = append(r.Channels, reading.Channel{Voltage: reading.Known(120.0), Current: reading.Known(amps[k]),
					Power: reading.Known(s * math.Cos(turn)), Reactive: reading.Known(s * math.Sin(turn))})
			}
			all = append(all, r)
		}
		return all
	}
	mean := func(all []reading.Reading, of func(c *reading.Channel) *reading.Value) {
		for k := range 3 {
			var last []float64
			for i := range all {
				v := of(&all[i].Channels[k])
				last = append(last, v.Or(0))
				sum := 0.0
				from := last[max(0, len(last)-3):]
				for _, x := range from {
					sum += x / float64(len(from))
				}
				*v = reading.Known(sum)
			}
		}
	}
	shift := func(all []reading.Reading) { // the power of the reading before
		for i := len(all) - 1; i > 0; i-- {
			for k := range all[i].Channels {
				all[i].Channels[k].Power, all[i].Channels[k].Reactive = all[i-1].Channels[k].Power, all[i-1].Channels[k].Reactive
			}
		}
	}
	power := func(c *reading.Channel) *reading.Value { return &c.Power }
	reactive := func(c *reading.Channel) *reading.Value { return &c.Reactive }
	current := func(c *reading.Channel) *reading.Value { return &c.Current }
	for name, of := range map[string][]func(c *reading.Channel) *reading.Value{
		"none": {}, "power": {power, reactive}, "current": {current}, "all of them": {power, reactive, current}, "one reading late": {},
	} {
		for _, alone := range []bool{false, true} {
			all := steps()
			if name == "one reading late" {
				shift(all)
			}
			for _, q := range of {
				mean(all, q)
			}
			if alone {
				for i := range all {
					for k := range all[i].Channels {
						all[i].Channels[k].Reactive = reading.Value{}
					}
				}
			}
			r := diagnose.Diagnose(all, diagnose.Options{Tables: tables})
			if late := name == "power" || name == "current"; late {
				require.Equal(t, diagnose.Undecided, r.Verdict, "%s, alone %v: %s", name, alone, r.Summary)
				require.Zero(t, r.Steps, name)
				require.Contains(t, r.Summary, "Power and current are of different times", "%s", name)
				require.Contains(t, r.NextTests[0].Ask, "the registers of the moment", name)
				continue
			}
			require.NotZero(t, r.Steps, name)
			require.NotContains(t, r.Summary, "different times", name)
		}
	}
}

// Angles of the voltages that are all the same are those of inputs on one conductor or none:
// the loads' own angles tell. No input is to be moved for a register that measures nothing.
func TestAnglesThatAreNotMeasuredMoveNoInput(t *testing.T) {
	for name, at := range map[string]float64{"zero": 0, "any": 37.2} {
		for _, service := range []string{"120/208Y", "277/480Y", "120/240"} {
			r := sound()
			r.Service = service
			volts := 120.0
			if service == "277/480Y" {
				volts = 277
			}
			if service == "120/240" {
				r.Channels = r.Channels[:2]
			}
			for k := range r.Channels {
				c := &r.Channels[k]
				c.Power = c.Power.Map(func(w float64) float64 { return w * volts / c.Voltage.Or(1) })
				c.Voltage, c.VoltageAngle = reading.Known(volts), reading.Known(reading.Angle(at))
			}
			got := diagnose.Diagnose([]reading.Reading{r}, diagnose.Options{Tables: tables})
			require.Equal(t, diagnose.Undecided, got.Verdict, "%s %s: %s", name, service, got.Summary)
			require.Contains(t, got.Summary, "every CT sits where it belongs", "%s %s", name, service)
			require.Len(t, got.DataFaults, 1)
			require.Equal(t, "voltage_angle.2", got.DataFaults[0].Point)
			require.Equal(t, "map", got.NextTests[0].Test)
			for _, x := range got.Explanations {
				require.Empty(t, x.Moves)
			}
			for k := range r.Channels { // a fault that shows by itself is named all the same
				if c := &r.Channels[k]; k == 1 {
					c.Power = reading.Known(-c.Power.Or(0))
					c.Angle = c.Angle.Map(func(a reading.Angle) reading.Angle { return reading.Degrees(float64(a) + 180) })
				}
			}
			got = diagnose.Diagnose([]reading.Reading{r}, diagnose.Options{Tables: tables})
			require.Contains(t, got.Summary, "CT 2 is reversed", "%s %s", name, service)
			require.NotContains(t, got.Summary, "conductor", "%s %s", name, service)
		}
	}
}
