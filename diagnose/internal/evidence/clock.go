package evidence

import "legwork/probe/reading"

// clock notes at which hours of the day power flowed back: that of the sun stops at
// night, that of CTs turned round doesn't.
type clock struct {
	back    uint8 // a bit for each eighth of the day in which it did
	forward bool  // once it plainly didn't
}

const hoursApart = 3

// plainFlow is the least share of the apparent power that tells which way power flows.
const plainFlow = 0.05

// Note takes the power of one more reading.
func (h *History) Note(r *reading.Reading) {
	var power, apparent float64
	for k := range r.Channels {
		c := &r.Channels[k]
		p, known := c.Power.Get()
		if !known {
			return
		}
		power, apparent = power+p, apparent+c.Voltage.Or(0)*c.Current.Or(0)
	}
	switch {
	case power > plainFlow*apparent:
		h.clock.forward = true
	case power < -plainFlow*apparent && !r.At.IsZero():
		h.clock.back |= 1 << (r.At.Hour() / hoursApart)
	}
}

// BackAllDay reports power that flowed back at all hours of the day, and never forward.
func (h *History) BackAllDay() bool {
	return h.clock.back == 1<<(24/hoursApart)-1 && !h.clock.forward
}
