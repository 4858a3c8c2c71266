package verdict

import (
	"math"

	"legwork/diagnose/internal/advice"
	"legwork/diagnose/internal/evidence"
	"legwork/diagnose/internal/frames"
	"legwork/diagnose/wiring"
	"legwork/probe/reading"
)

// neutralLost is the probability that the service's neutral is lost.
func (j *Judgement) neutralLost() float64 {
	g := j.Top()
	if g == nil {
		return 0
	}
	var holds, declared *wiring.Service
	if !j.Inferred {
		declared = &j.Declared
	}
	if j.CauseOf(g) != wiring.ByService && !g.InputsMislanded() {
		holds = &g.Service
	}
	if holds != nil && g.AllLive() {
		return frames.NearLost(*holds, j.History, j.Reading)
	}
	return frames.NeutralLost(holds, declared, j.History, j.Reading)
}

// Stops reports a danger before which nothing is advised but keeping away. Voltages
// that a wrong map or a wrong service makes are none.
func (j *Judgement) Stops() bool {
	g := j.Top()
	if g == nil || j.misreads() > mistakenVolts && j.voltsMisread() {
		return false
	}
	return j.Neutral >= NeutralDanger || j.CauseOf(g) != wiring.ByService && advice.Stops(g)
}

// voltsMisread reports a map in doubt for its voltages, as against other quantities.
func (j *Judgement) voltsMisread() bool {
	for _, m := range j.Misread.Mends {
		if m.Quantity == reading.Voltage || m.Change == evidence.Reorder || m.Change == evidence.Readdress && m.Quantity == 0 && !j.levelHolds() {
			return true
		}
	}
	return false
}

// levelHolds reports legs whose voltages are the service's in the mean: registers that
// are something else hardly are.
func (j *Judgement) levelHolds() bool {
	var sum, n float64
	for m := range min(j.Service.Legs(), len(j.Reading.Channels)) {
		if frames.BearsNeutral(j.Service, m) {
			sum, n = sum+math.Abs(j.Reading.Channels[m].Voltage.Or(0)), n+1
		}
	}
	return n > 1 && math.Abs(sum/n/j.Service.Nominal-1) < levelOff
}

// An input of no service is live below a tenth of the least nominal voltage; a power
// above the other bound is there by some voltage, which is misread then.
const (
	unpoweredBelow = 12.0 // V
	unpoweredPower = 20.0 // W
)

// Unpowered reports a meter none of whose inputs reads any voltage.
func (j *Judgement) Unpowered() bool {
	known := false
	for k := range j.Reading.Channels {
		c := &j.Reading.Channels[k]
		v, ok := c.Voltage.Get()
		if ok && math.Abs(v) >= unpoweredBelow || math.Abs(c.Power.Or(0)) >= unpoweredPower {
			return false
		}
		known = known || ok
	}
	return known
}

// Carries reports a channel that carries enough current to be judged.
func (j *Judgement) Carries() bool {
	for k := range j.Reading.Channels {
		if math.Abs(j.Reading.Channels[k].Current.Or(0)) >= j.MinCurrent {
			return true
		}
	}
	return false
}

// MaybeOpen lists the channels whose CT reads nothing at present and may be
// open; none where the CTs are declared to put out a voltage. A CT that carried
// current before and has gone silent since counts, whatever it was judged by.
func (j *Judgement) MaybeOpen() []int {
	var open []int
	for k := range j.Reading.Channels {
		if j.Silent(k) {
			open = append(open, k+1)
		}
	}
	return open
}

// Silent reports a channel whose CT may be open: by the present state of the
// load, or by the last reading, which may not have made a state yet.
func (j *Judgement) Silent(k int) bool {
	if j.VoltageOutputCTs || j.Unpowered() && !j.Carries() { // with the supply off no current is no news
		return false
	}
	if s := &j.Base().Now[k]; s.AmpsKnown && s.Amps < openBelow {
		return true
	}
	amps, ok := j.Reading.Channels[k].Current.Get()
	return ok && math.Abs(amps) < openBelow
}
