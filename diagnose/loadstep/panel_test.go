package loadstep

import (
	"math"
	"time"

	"legwork/diagnose/wiring"
	"legwork/probe/reading"
)

var morning = time.Date(2026, 5, 4, 9, 30, 0, 0, time.UTC)

// panel is what an invented panel reads: legs' currents at their own load
// angles, through CTs that sit where an arrangement has them. It follows
// theta_k = phi_m + (arg E_k - arg E_m) + 180 r, worked out here on its own.
type panel struct {
	service string
	volts   []float64 // degrees of the legs
	ct      []wiring.CT
	sizes   bool // the meter gives V, I and P only
}

func wye(ct ...wiring.CT) panel {
	return panel{service: "120/208Y", volts: []float64{0, -120, 120}, ct: ct}
}

func split(ct ...wiring.CT) panel {
	return panel{service: "120/240", volts: []float64{0, 180}, ct: ct}
}

// at gives the reading with each leg's current in A and angle in degrees.
func (p panel) at(t time.Time, legs ...[2]float64) reading.Reading {
	r := reading.Reading{At: t, Service: p.service}
	for k, ct := range p.ct {
		leg := legs[ct.Leg-1]
		theta := leg[1] + p.volts[k] - p.volts[ct.Leg-1]
		if ct.Reversed {
			theta += 180
		}
		c := reading.Channel{Voltage: reading.Known(120.0), Current: reading.Known(leg[0]),
			Power: reading.Known(120 * leg[0] * math.Cos(theta*math.Pi/180))}
		if !p.sizes {
			c.Angle = reading.Known(reading.Degrees(theta))
			c.VoltageAngle = reading.Known(reading.Degrees(p.volts[k]))
		}
		r.Channels = append(r.Channels, c)
	}
	return r
}
