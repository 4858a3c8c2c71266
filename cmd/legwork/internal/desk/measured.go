package desk

import (
	"strconv"

	"legwork/probe/reading"
)

// joules in a watthour.
const joules = 3600

// ofChannel are the families of a channel's quantities.
var ofChannel = map[int]reading.Quantity{
	voltageFamily: reading.Voltage, currentFamily: reading.Current, powerFamily: reading.Power,
	reactiveFamily: reading.Reactive,
	apparentFamily: reading.Apparent, factorFamily: reading.PowerFactor, angleFamily: reading.AngleOf,
	voltageAngleFamily: reading.VoltageAngle, currentAngleFamily: reading.CurrentAngle,
}

// measured writes what a reading has of a family.
func measured(p *pen, r *reading.Reading) {
	switch p.family {
	case lineFamily:
		for i, pair := range [...]string{"12", "23", "31"} {
			p.value(r.LineVoltages[i], "between", pair)
		}
	case frequencyFamily:
		p.value(r.Frequency)
	case neutralFamily:
		p.value(r.NeutralCurrent)
	case importFamily:
		p.value(total(r, r.TotalEnergyImport, reading.EnergyImport))
	case exportFamily:
		p.value(total(r, r.TotalEnergyExport, reading.EnergyExport))
	default:
		q := ofChannel[p.family]
		for k := range r.Channels {
			p.value(r.Number(reading.Point{Quantity: q, Index: k + 1}), "channel", strconv.Itoa(k+1))
		}
	}
}

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
