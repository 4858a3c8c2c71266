package estimate

import (
	"fmt"
	"strings"

	"legwork/cmd/legwork/internal/flags"
	"legwork/diagnose/energy"
	"legwork/diagnose/wiring"
)

// Stated is by a registration that a person gives.
func Stated(wh float64, g energy.Registration) (energy.Question, error) {
	if err := g.Check(); err != nil {
		return energy.Question{}, fmt.Errorf("--registration: %w", err)
	}
	return energy.Question{Registered: wh, Registration: &g, Basis: energy.FromPerson,
		Words: "a registration that was given", Conditions: "as given"}, nil
}

// Load is what may be said of an assumed load.
type Load struct {
	PowerFactor PowerFactor
	Unbalance   float64
	Sequence    wiring.Sequence
}

// PowerFactor is a range of power factors: as it was written, and its angles.
type PowerFactor struct {
	Text string
	Lag  [2]float64 // degrees
}

// ParsePowerFactor reads a range, such as "0.8..1".
func ParsePowerFactor(text string) (PowerFactor, error) {
	lag, err := energy.ParsePowerFactor(text)
	return PowerFactor{text, lag}, err
}

// ParseSequence reads ABC or ACB.
func ParseSequence(text string) (wiring.Sequence, error) {
	switch strings.ToUpper(text) {
	case "ABC":
		return wiring.Forward, nil
	case "ACB":
		return wiring.Backward, nil
	}
	return 0, flags.Refused{What: fmt.Sprintf("%q is not ABC or ACB", text)}
}

// mostUsual is the service that is taken where none is said.
const mostUsual = "120/208Y"

// Question is by faults that are assumed, over the range of loads; service may be
// empty.
func (l Load) Question(wh float64, service, faults string) (energy.Question, error) {
	var allowed []string
	if service == "" {
		service = mostUsual
		allowed = []string{"no service was given: it is taken to be " + mostUsual + "; --service says another one"}
	}
	s, err := wiring.ParseService(service)
	if err != nil {
		return energy.Question{}, err
	}
	a, err := energy.ParseAssumedFault(s, faults)
	if err != nil {
		return energy.Question{}, fmt.Errorf("--assume %w", err)
	}
	g := a.Registration(energy.Load{Lag: l.PowerFactor.Lag, Unbalance: l.Unbalance, Sequence: l.Sequence})
	conditions := "balanced"
	if l.Unbalance > 0 {
		conditions = fmt.Sprintf("each leg within %g %% of the mean", 100*l.Unbalance)
	}
	conditions += fmt.Sprintf(", power factor %s, %s %s", l.PowerFactor.Text, s.Name, l.Sequence)
	return energy.Question{Registered: wh, Registration: &g, Basis: energy.FromAssumed, Words: a.String(),
		Conditions: conditions, Allowed: allowed}, nil
}
