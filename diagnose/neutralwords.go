package diagnose

import (
	"fmt"
	"math"

	"legwork/diagnose/internal/advice"
	"legwork/diagnose/internal/evidence"
	"legwork/diagnose/internal/frames"
	"legwork/probe/reading"
)

// neutralDanger is the probability of a lost neutral from which on nothing is
// advised but to keep away. Low, since the loss is dear. Our choice, no source.
const neutralDanger = 0.1

// neutralLost is the probability that the service's neutral is lost; zero where
// the voltages are explained otherwise.
func (j *judgement) neutralLost(h *evidence.History) float64 {
	g := j.top()
	if g == nil || j.causeOf(g) == CauseService || g.InputsMislanded() {
		return 0
	}
	return frames.NeutralLost(g.Service, h, voltsOf(j.channels))
}

func voltsOf(channels []reading.Channel) (volts [3]float64) {
	for k := range min(len(channels), len(volts)) {
		volts[k] = math.Abs(channels[k].Voltage.Or(0))
	}
	return volts
}

// stops reports a danger before which nothing is advised but keeping away. Voltages
// that a wrong map or a wrong service makes are none.
func (j *judgement) stops() bool {
	g := j.top()
	if g == nil || j.misreads() > mistakenVolts && j.voltsMisread() || j.causeOf(g) == CauseService {
		return false
	}
	return j.neutral >= neutralDanger || advice.Stops(g)
}

// voltsMisread reports a map in doubt for its voltages, as against other quantities.
func (j *judgement) voltsMisread() bool {
	for _, m := range j.misread.Mends {
		if m.Quantity == reading.Voltage || m.Change == evidence.Reorder || m.Change == evidence.Readdress && m.Quantity == 0 && !j.levelHolds() {
			return true
		}
	}
	return false
}

// levelOff is how far, as a share, the mean of the legs' voltages may be from the
// service's and be that of a lost neutral, which moves the legs apart: our choice.
const levelOff = 0.2

// levelHolds reports legs whose voltages are the service's in the mean: registers that
// are something else hardly are.
func (j *judgement) levelHolds() bool {
	var sum, n float64
	volts := voltsOf(j.channels)
	for m := range min(j.service.Legs(), j.service.Channels()) {
		if frames.BearsNeutral(j.service, m) {
			sum, n = sum+volts[m], n+1
		}
	}
	return n > 1 && math.Abs(sum/n/j.service.Nominal-1) < levelOff
}

// mistakenVolts is the probability of a wrong map above which voltages say nothing of
// a lost neutral: our choice, high since the loss is dear.
const mistakenVolts = 0.9

// neutralSaid reports a neutral that is to be spoken of; where voltages are beyond
// their limits the explanation itself does so, if it leads.
func (j *judgement) neutralSaid() bool {
	b, _ := j.leads()
	return j.neutral >= neutralDanger && (!advice.Stops(j.top()) || b != nil && j.stops())
}

// neutralWords says what shows it.
func (j *judgement) neutralWords() string {
	var sizes []string
	for m := range j.service.Legs() {
		if v, ok := j.channels[m].Voltage.Get(); ok && frames.BearsNeutral(j.service, m) {
			sizes = append(sizes, fmt.Sprintf("%.1f V", v))
		}
	}
	return fmt.Sprintf("the neutral of the service may be lost (%s): the legs stand apart, at %s",
		percent(j.neutral), advice.Listed(sizes))
}
