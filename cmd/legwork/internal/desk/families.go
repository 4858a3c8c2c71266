package desk

import (
	"strconv"

	"legwork/cmd/legwork/internal/survey"
	"legwork/probe/reading"
)

// family is one metric of meters. Units are those of the Prometheus conventions, base
// units in the name; a counter's name ends in _total.
type family struct {
	name, help string
	write      func(p *pen, m *meter) // the lines that a meter has of it
}

const familyCount = 25

// families are written in this order.
var families = [familyCount]family{
	{"legwork_voltage_volts", "Voltage of a channel, rms.", ofChannel(reading.Voltage)},
	{"legwork_current_amperes", "Current of a channel, rms.", ofChannel(reading.Current)},
	{"legwork_power_watts", "Active power of a channel as registered, positive to the load.", ofChannel(reading.Power)},
	{"legwork_reactive_power_vars", "Reactive power of a channel, positive for a lagging load.",
		ofChannel(reading.Reactive)},
	{"legwork_apparent_power_voltamperes", "Apparent power of a channel.", ofChannel(reading.Apparent)},
	{"legwork_power_factor_ratio", "Power factor of a channel; legwork_meter_info says what its sign means.",
		ofChannel(reading.PowerFactor)},
	{"legwork_angle_degrees", "Angle of the current behind the voltage.", ofChannel(reading.AngleOf)},
	{"legwork_voltage_angle_degrees", "Angle of the voltage from that of channel 1, anticlockwise.",
		ofChannel(reading.VoltageAngle)},
	{"legwork_current_angle_degrees", "Angle of the current from the voltage of channel 1, anticlockwise.",
		ofChannel(reading.CurrentAngle)},
	{"legwork_line_voltage_volts", "Voltage between two channels, rms.", ofReading(func(p *pen, r *reading.Reading) {
		for i, pair := range [...]string{"12", "23", "31"} {
			p.value(r.LineVoltages[i], "between", pair)
		}
	})},
	{"legwork_meter_up", "Whether the meter answered when it was last asked.", func(p *pen, m *meter) {
		if m.asked {
			p.line(one(m.up), "site", p.place)
		}
	}},
	{"legwork_reading_timestamp_seconds", "When the last good reading was taken.", func(p *pen, m *meter) {
		if !m.last.At.IsZero() {
			at := float64(m.last.At.UnixMilli()) / 1000
			p.sample(strconv.AppendFloat(nil, at, 'f', 3, 64), []string{"site", p.place})
		}
	}},
	{"legwork_frequency_hertz", "Frequency.",
		ofReading(func(p *pen, r *reading.Reading) { p.value(r.Frequency) })},
	{"legwork_neutral_current_amperes", "Current of the neutral, rms.",
		ofReading(func(p *pen, r *reading.Reading) { p.value(r.NeutralCurrent) })},
	{"legwork_energy_import_joules_total", "Energy registered as taken.", ofReading(func(p *pen, r *reading.Reading) {
		p.value(total(r, r.TotalEnergyImport, reading.EnergyImport))
	})},
	{"legwork_energy_export_joules_total", "Energy registered as given back.",
		ofReading(func(p *pen, r *reading.Reading) { p.value(total(r, r.TotalEnergyExport, reading.EnergyExport)) })},
	{"legwork_verdict", "The verdict on the wiring; exactly one is 1.", judged(func(p *pen, m *meter) {
		for _, s := range []survey.Status{survey.Agrees, survey.Fault, survey.Undecided} {
			p.line(one(s == m.verdict.status), "site", p.place, "legwork_verdict", string(s))
		}
	})},
	{"legwork_verdict_probability_ratio", "Probability of the first explanation.", judged(func(p *pen, m *meter) {
		if m.verdict.probability > 0 {
			p.line(m.verdict.probability)
		}
	})},
	{"legwork_lost_power_watts", "True power less registered power.",
		judged(func(p *pen, m *meter) { p.value(m.verdict.loss.Best) })},
	{"legwork_lost_energy_joules_total",
		"Energy that was not registered since the desk began, by the bounds of its interval.", func(p *pen, m *meter) {
			p.line(m.lost.low, "site", p.place, "bound", "low")
			p.line(m.lost.high, "site", p.place, "bound", "high")
		}},
	{"legwork_reads_total", "Reads of the meter, by how they ended.", func(p *pen, m *meter) {
		for i, n := range m.reads { // what never happened has no series: most meters have one
			if n > 0 || outcome(i) == good {
				p.line(float64(n), "outcome", outcomeNames[i])
			}
		}
	}},
	{"legwork_meter_info", "What is declared of the meter, and what the signs of its registers mean.", info},
	{"legwork_balance_difference_watts", "A main less the sum of the meters below it, by the bounds of its interval.",
		judged(func(p *pen, m *meter) {
			if m.balance != nil {
				p.value(m.balance.Low, "site", p.place, "bound", "low")
				p.value(m.balance.High, "site", p.place, "bound", "high")
			}
		})},
	{"legwork_balance_complete", "Whether the power of a main and of all below it is known.",
		judged(func(p *pen, m *meter) {
			if m.balance != nil {
				p.line(one(len(m.balance.Missing) == 0))
			}
		})},
	{"legwork_channel_silent", "Whether a channel that carried load for hours reads none.",
		judged(func(p *pen, m *meter) {
			for k := range min(len(m.last.Channels), reading.MaxChannels) {
				if fell, known := m.silence.known(k, m.last.At); known {
					p.line(one(fell), "site", p.place, "channel", strconv.Itoa(k+1))
				}
			}
		})},
}

// ofReading writes what the last reading has, while the meter answers.
func ofReading(write func(p *pen, r *reading.Reading)) func(*pen, *meter) {
	return func(p *pen, m *meter) {
		if m.up {
			write(p, &m.last)
		}
	}
}

func ofChannel(q reading.Quantity) func(*pen, *meter) {
	return ofReading(func(p *pen, r *reading.Reading) {
		for k := range r.Channels {
			p.value(r.Number(reading.Point{Quantity: q, Index: k + 1}), "channel", strconv.Itoa(k+1))
		}
	})
}

// judged writes what was made of the readings.
func judged(write func(*pen, *meter)) func(*pen, *meter) {
	return func(p *pen, m *meter) {
		if m.up && m.verdict.status != "" {
			write(p, m)
		}
	}
}

// joules in a watthour.
const joules = 3600

// total is a meter's energy in J: its own total, else the sum of its channels.
func total(r *reading.Reading, whole reading.Value, q reading.Quantity) reading.Value {
	if !whole.Known() && len(r.Channels) > 0 {
		sum := 0.0
		for k := range r.Channels {
			x, known := r.Number(reading.Point{Quantity: q, Index: k + 1}).Get()
			if !known {
				return reading.Value{}
			}
			sum += x
		}
		whole = reading.Known(sum)
	}
	return whole.Map(func(x float64) float64 { return x * joules })
}
