package asleft

import (
	"math"

	"legwork/diagnose"
	"legwork/diagnose/internal/prior"
	"legwork/diagnose/wiring"
	"legwork/probe/reading"
)

// Outcome is what became of a prediction.
type Outcome string

// The outcomes.
const (
	Met         Outcome = "met"
	Missed      Outcome = "missed"
	LoadChanged Outcome = "load-changed" // too much to tell
	NotRead     Outcome = "not-read"     // predicted or read too little to tell
)

// Compared holds what a channel was predicted to read after the move against
// what it reads as left. The prediction is for the same load; where the current
// is another one, the power is held against it in proportion.
type Compared struct {
	Channel       int                          `json:"channel"`
	ExpectPower   reading.Value                `json:"expect_power"`   // W, at the load as found
	ExpectCurrent reading.Value                `json:"expect_current"` // A, of the CT on this leg then
	ExpectAngle   reading.Maybe[reading.Angle] `json:"expect_angle"`
	Power         reading.Value                `json:"power"`
	Current       reading.Value                `json:"current"`
	Angle         reading.Maybe[reading.Angle] `json:"angle"`
	AtLoad        reading.Value                `json:"power_at_load"` // W, in proportion to the current read
	Probability   reading.Value                `json:"probability"`   // of the channel wired right
	Outcome       Outcome                      `json:"outcome"`
}

// The probability of right wiring from which on a channel is as predicted, and below
// which it isn't; the load changed too much to tell in between. Our choice, by the table
// that the tests print.
const (
	leastMet   = 0.5
	mostMissed = 0.2
)

// Judge compares results. It keeps tables that take some tens of milliseconds to make.
type Judge struct{ known *prior.Tables }

// New gives a judge with tables of its own.
func New() *Judge { return &Judge{prior.NewTables()} }

// Predicts reports a result that says what is read after its move: a fault.
func Predicts(r *diagnose.Result) bool {
	return r != nil && r.Verdict == diagnose.Fault && len(r.Likeliest().Expect) > 0
}

// Compare holds the prediction of an earlier verdict against a later one. It is
// empty where nothing was predicted.
func (j *Judge) Compare(before, after *diagnose.Result) []Compared {
	if !Predicts(before) || after == nil {
		return nil
	}
	var all []Compared
	for _, e := range before.Explanations[0].Expect {
		c := Compared{Channel: e.Channel, ExpectPower: e.Power, ExpectAngle: e.Angle,
			ExpectCurrent: currentBefore(before, e.Channel), Outcome: NotRead}
		c.fill(after)
		all = append(all, c)
	}
	s, err := wiring.ParseService(before.Service.Name)
	if err != nil {
		return all
	}
	b := newBench(j.known, s, before, after)
	b.predict(all)
	b.weigh()
	for i := range all {
		b.judge(&all[i], after)
	}
	return all
}

// fill takes what the channel reads now.
func (c *Compared) fill(after *diagnose.Result) {
	for _, now := range after.Channels {
		if now.Channel != c.Channel {
			continue
		}
		c.Power, c.Current, c.Angle = now.Power, now.Current, now.Angle
	}
	was, okWas := c.ExpectCurrent.Get()
	is, okIs := c.Current.Get()
	c.AtLoad = c.ExpectPower
	if okWas && okIs && was > 0 {
		c.AtLoad = c.ExpectPower.Map(func(p float64) float64 { return p * math.Abs(is/was) })
	}
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

// judge says what became of a prediction.
func (b *bench) judge(c *Compared, after *diagnose.Result) {
	k := c.Channel - 1
	if inputAtFault(after, c.Channel) {
		c.Outcome = Missed
		return
	}
	if !b.judged[k] {
		if b.predicted(k) && c.Current.Known() && c.Current.Or(0) < diagnose.DefaultMinCurrent {
			c.Outcome = LoadChanged
		}
		return
	}
	c.Probability = reading.Known(b.right[k])
	switch {
	case b.right[k] < mostMissed:
		c.Outcome = Missed
	case b.right[k] < leastMet || b.predicted(k) && b.strange[k] > 0.5:
		c.Outcome = LoadChanged
	case b.predicted(k):
		c.Outcome = Met
	}
}

// inputAtFault reports a voltage input that isn't where it should be, as left.
func inputAtFault(r *diagnose.Result, channel int) bool {
	for _, v := range r.Likeliest().Voltage {
		if v.Channel != channel {
			continue
		}
		switch v.State {
		case diagnose.InputDead, diagnose.InputShared, diagnose.InputNeutralCrossed:
			return true
		}
		return v.Severe
	}
	return false
}
