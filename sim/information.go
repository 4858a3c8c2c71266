package sim

import "legwork/probe/reading"

// Information says how much of a reading a poorer meter gives.
type Information uint8

// The regimes of the tables of accuracy.
const (
	Everything      Information = iota // with the angles of the voltages and the line voltages
	NoVoltageAngles                    // each channel's own angle, but not those
	PowerReactive                      // V, I, P and Q
	PowerOnly                          // V, I and P
)

// String names the regime.
func (i Information) String() string {
	return [...]string{"all", "no voltage angles", "V, I, P, Q", "V, I, P"}[min(i, PowerOnly)]
}

// Strip takes from a reading what the meter doesn't give.
func (i Information) Strip(r *reading.Reading) {
	if i == Everything {
		return
	}
	r.LineVoltages = [3]reading.Value{}
	for k := range r.Channels {
		c := &r.Channels[k]
		c.VoltageAngle, c.CurrentAngle = reading.Maybe[reading.Angle]{}, reading.Maybe[reading.Angle]{}
		if i >= PowerReactive {
			c.Angle, c.PowerFactor, c.Apparent = reading.Maybe[reading.Angle]{}, reading.Value{}, reading.Value{}
		}
		if i >= PowerOnly {
			c.Reactive = reading.Value{}
		}
	}
	if i >= PowerReactive {
		r.NeutralCurrent = reading.Value{}
	}
	if i >= PowerOnly {
		r.TotalReactive = reading.Value{}
	}
}
