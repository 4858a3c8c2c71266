package diagnose

import (
	"fmt"

	"legwork/diagnose/internal/advice"
	"legwork/diagnose/internal/frames"
	"legwork/diagnose/internal/verdict"
)

// neutralSaid reports a neutral that is to be spoken of; where voltages are beyond
// their limits the explanation itself does so, if it leads.
func neutralSaid(j *verdict.Judgement) bool {
	b, _ := j.Leads()
	return j.Neutral >= verdict.NeutralDanger && (!advice.Stops(j.Top()) || b != nil && j.Stops())
}

// neutralWords says what shows it.
func neutralWords(j *verdict.Judgement) string {
	var sizes []string
	for m := range min(j.Service.Legs(), len(j.Reading.Channels)) {
		if v, ok := j.Reading.Channels[m].Voltage.Get(); ok && frames.BearsNeutral(j.Service, m) {
			sizes = append(sizes, fmt.Sprintf("%.1f V", v))
		}
	}
	return fmt.Sprintf("the neutral of the service may be lost (%s): the legs stand apart, at %s",
		percent(j.Neutral), advice.Listed(sizes))
}
