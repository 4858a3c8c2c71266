package diagnose

import (
	"fmt"

	"legwork/diagnose/internal/advice"
	"legwork/diagnose/internal/frames"
	"legwork/diagnose/internal/verdict"
	"legwork/diagnose/wiring"
)

// neutralSaid reports a neutral that is to be spoken of; where voltages are beyond
// their limits the explanation itself does so, if it leads.
func neutralSaid(j *verdict.Judgement) bool {
	b, _ := j.Leads()
	return j.Neutral >= verdict.NeutralDanger && (!advice.Stops(j.Top()) || b != nil && j.Stops())
}

// neutralWords says what shows it.
func neutralWords(j *verdict.Judgement) string {
	said := fmt.Sprintf("the neutral of the service may be lost (%s): the legs ", percent(j.Neutral))
	last := [3]float64{}
	for m := range min(len(last), len(j.Reading.Channels)) {
		last[m] = j.Reading.Channels[m].Voltage.Or(0)
	}
	if far, moved := frames.Farthest(j.Service, j.History, j.Reading); moved {
		return said + fmt.Sprintf("stood apart, at %s, and are at %s now", legsAt(j.Service, far), legsAt(j.Service, last))
	}
	return said + "stand apart, at " + legsAt(j.Service, last)
}

// legsAt lists the voltages of the legs between which the neutral lies.
func legsAt(s wiring.Service, volts [3]float64) string {
	var sizes []string
	for m := range s.Legs() {
		if volts[m] > 0 && frames.BearsNeutral(s, m) {
			sizes = append(sizes, fmt.Sprintf("%.1f V", volts[m]))
		}
	}
	return advice.Listed(sizes)
}
