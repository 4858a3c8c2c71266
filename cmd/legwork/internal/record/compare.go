package record

import (
	"math"

	"legwork/diagnose"
	"legwork/diagnose/wiring"
	"legwork/probe/reading"
)

// Outcome is what became of a prediction.
type Outcome string

// The outcomes.
const (
	Met         Outcome = "met"
	Missed      Outcome = "missed"
	LoadChanged Outcome = "load-changed" // too much to compare
	NotRead     Outcome = "not-read"     // predicted or read too little to tell
)

// Compared holds what a channel was predicted to read after the move against
// what it reads as left. The prediction is for the same load; where the current
// is another one, the power is held against it in proportion.
type Compared struct {
	Channel        int                          `json:"channel"`
	ExpectPower    reading.Value                `json:"expect_power"`   // W, at the load as found
	ExpectCurrent  reading.Value                `json:"expect_current"` // A, that of the CT that was on this channel's leg
	ExpectAngle    reading.Maybe[reading.Angle] `json:"expect_angle"`
	Power          reading.Value                `json:"power"`
	Current        reading.Value                `json:"current"`
	Angle          reading.Maybe[reading.Angle] `json:"angle"`
	AtLoad         reading.Value                `json:"power_at_load"`   // W, in proportion to the current read
	PowerTolerance reading.Value                `json:"power_tolerance"` // W
	AngleTolerance float64                      `json:"angle_tolerance"` // degrees
	Outcome        Outcome                      `json:"outcome"`
}

// AngleTolerance is how far, in degrees, the angle may lie from the prediction.
// An assumption of ours: loads wander by some degrees while leads are moved, and
// arrangements differ by 30 degrees at least. The tolerance of the power is what
// that angle makes of it at most, sin(10 deg) of the apparent power.
const AngleTolerance = 10.0

// mostChange is the ratio of currents beyond which a load is another one; an
// assumption of ours.
const mostChange = 2.0

// Compare holds the prediction of an earlier verdict against a later one. It is
// empty where nothing was predicted.
func Compare(before, after *diagnose.Result) []Compared {
	if before == nil || after == nil || before.Verdict != diagnose.Fault || len(before.Explanations) == 0 {
		return nil
	}
	x := before.Explanations[0]
	var all []Compared
	for _, e := range x.Expect {
		c := Compared{Channel: e.Channel, ExpectPower: e.Power, ExpectAngle: e.Angle,
			ExpectCurrent:  currentBefore(before, e.Channel),
			AngleTolerance: AngleTolerance, Outcome: NotRead}
		for _, now := range after.Channels {
			if now.Channel == e.Channel {
				c.judge(now)
			}
		}
		all = append(all, c)
	}
	return all
}

// currentBefore is the current that the channel should read once its CT is where
// it belongs: as found, another channel's CT may have been there.
func currentBefore(r *diagnose.Result, channel int) reading.Value {
	s, err := wiring.ParseService(r.Service.Name)
	if err != nil {
		return reading.Value{}
	}
	home := int(s.HomeLeg(wiring.Channel(channel)))
	for _, ct := range r.Explanations[0].CT {
		if ct.Leg == nil || *ct.Leg != home {
			continue
		}
		for _, c := range r.Channels {
			if c.Channel == ct.Channel {
				return c.Current
			}
		}
	}
	return reading.Value{}
}

func (c *Compared) judge(now diagnose.ChannelJudged) {
	c.Power, c.Current, c.Angle = now.Power, now.Current, now.Angle
	ratio := 1.0
	was, okWas := c.ExpectCurrent.Get()
	amps, okIs := c.Current.Get()
	if okWas && okIs && was > 0 {
		ratio = amps / was
	}
	c.AtLoad = c.ExpectPower.Map(func(p float64) float64 { return p * ratio })
	if volts, ok := now.Voltage.Get(); ok && okIs {
		c.PowerTolerance = reading.Known(math.Sin(AngleTolerance*math.Pi/180) * volts * amps)
	}
	if ratio > mostChange || ratio < 1/mostChange {
		c.Outcome = LoadChanged
		return
	}
	angle, power := c.angleMet(), c.powerMet()
	switch {
	case angle == Missed || power == Missed:
		c.Outcome = Missed
	case angle == Met || power == Met:
		c.Outcome = Met
	}
}

func (c *Compared) angleMet() Outcome {
	was, ok := c.ExpectAngle.Get()
	is, okIs := c.Angle.Get()
	switch {
	case !ok || !okIs:
		return NotRead
	case is.Minus(was).Abs() > c.AngleTolerance:
		return Missed
	}
	return Met
}

func (c *Compared) powerMet() Outcome {
	was, ok := c.AtLoad.Get()
	is, okIs := c.Power.Get()
	within, okTolerance := c.PowerTolerance.Get()
	switch {
	case !ok || !okIs || !okTolerance:
		return NotRead
	case math.Abs(is-was) > within:
		return Missed
	}
	return Met
}
