package energy

import (
	"cmp"
	"fmt"
	"math"

	"legwork/diagnose/wiring"
)

// Basis says where a registration comes from.
type Basis string

// The bases.
const (
	FromReadings Basis = "readings" // a verdict about readings of the meter
	FromPerson   Basis = "stated"
	FromAssumed  Basis = "assumed" // an arrangement with a range of loads
)

// Question is what an estimate is made of.
type Question struct {
	Registered   float64 // Wh, as the register moved, with its multiplier; negative where it ran backwards
	Registration *Registration
	K            *Registration // true over registered, where more is known than its inverse
	Basis        Basis
	Words        string   // what is wrong, such as "CT 2 is reversed"
	Conditions   string   // of the load, such as "balanced, power factor 0.9"
	Unknown      string   // why there is no registration, where there is none
	Allowed      []string // what the interval allows for, and what was taken for granted
	Periods      []Period
}

// Result is an estimate. Energies are in Wh.
type Result struct {
	Legwork int `json:"legwork"`
	// Verdict is Agrees where there is nothing to correct, Fault where there is an
	// estimate, Undecided where none is possible.
	Verdict      wiring.Verdict `json:"verdict"`
	Summary      string         `json:"summary"`
	Basis        Basis          `json:"basis"`
	Words        string         `json:"words"`
	Conditions   string         `json:"conditions"`
	Registered   float64        `json:"registered"`
	Registration *Registration  `json:"registration"` // null where it isn't known
	K            *Registration  `json:"k"`            // true over registered; null where no estimate is possible
	True         *Registration  `json:"true"`         // Wh
	Missing      *Registration  `json:"missing"`      // Wh: true less registered; below zero where too much was registered
	Why          string         `json:"why"`          // why no estimate is possible; empty where one is
	Periods      []PeriodMade   `json:"periods"`
	Notes        []string       `json:"notes"`
}

// Estimate answers a question. The error is a value that can't be.
func Estimate(q Question) (Result, error) {
	if math.IsNaN(q.Registered) || math.Abs(q.Registered) > mostWh {
		return Result{}, fmt.Errorf("a registered energy of %g Wh is not possible", q.Registered)
	}
	r := Result{Legwork: 1, Basis: q.Basis, Words: q.Words, Conditions: q.Conditions, Registered: q.Registered,
		Registration: q.Registration, Periods: []PeriodMade{}, Notes: notes(q)}
	if q.Registration != nil {
		if err := q.Registration.Check(); err != nil {
			return Result{}, err
		}
	}
	if why, end := whyNot(q); why != "" {
		r.Why, r.Verdict, r.Summary = why, wiring.Undecided, "No estimate is possible: "+why+end
		return r, nil
	}
	k := q.Registration.inverse()
	if q.K != nil {
		k = *q.K
		g := k.inverse()
		r.Registration = &g
	}
	whole := k.times(q.Registered)
	missing := whole.less(q.Registered)
	r.K, r.True, r.Missing = &k, &whole, &missing
	var err error
	if r.Periods, err = split(q.Periods, k, q.Registered); err != nil {
		return Result{}, err
	}
	if len(r.Periods) > 0 {
		r.Notes = append(r.Notes, "every period is taken to have the same K: the load had the same shape in each")
	}
	r.conclude()
	return r, nil
}

// whyNot says why no estimate is possible, or nothing, and what ends the sentence.
func whyNot(q Question) (why, end string) {
	g := q.Registration
	switch {
	case g == nil:
		return cmp.Or(q.Unknown, "no registration is given"), "."
	case g.nearNothing():
		return fmt.Sprintf("the registration lies between %.3f and %.3f, so next to nothing may have been registered of "+
			"any true energy; take readings over a day, or estimate it from another meter, from readings after the repair or "+
			"from like periods", g.Low, g.High), "."
	case q.K != nil && q.K.Low*q.K.High <= 0:
		return "the true power at the load that was read may be nothing; read it under more load", "."
	case q.Registered == 0:
		return "nothing was registered, and nothing times K is nothing", "."
	case (q.Registered < 0) != (g.Best < 0):
		return fmt.Sprintf("with a registration of %.3f the register runs %s, and it moved the other way; is it one of "+
			"import alone, did the fault not last all the time, or was the load another one over the day?", g.Best,
			direction(g.Best)), ""
	}
	return "", ""
}

func direction(x float64) string {
	if x < 0 {
		return "backwards"
	}
	return "forwards"
}

func (r *Result) conclude() {
	r.Verdict = wiring.Fault
	m := r.Missing
	switch {
	case r.Registration.Low <= 1 && r.Registration.High >= 1 && math.Abs(r.Registration.Best-1) <= leastRegistration:
		r.Verdict, r.Summary = wiring.Agrees, fmt.Sprintf("Nothing to correct: %s kWh was registered of %s kWh, within "+
			"the doubt.", kwh(r.Registered), kwh(r.True.Best))
	case m.Best >= 0:
		r.Summary = fmt.Sprintf("%s kWh went unregistered%s: the true energy is %s kWh%s.", kwh(m.Best), m.ends(1),
			kwh(r.True.Best), r.True.ends(1))
	default:
		r.Summary = fmt.Sprintf("%s kWh too much was registered%s: the true energy is %s kWh%s.", kwh(-m.Best), m.ends(-1),
			kwh(r.True.Best), r.True.ends(1))
	}
}

// kwh writes Wh as kWh, to five figures or to the whole.
func kwh(wh float64) string {
	if math.Abs(wh) >= 1e7 {
		return fmt.Sprintf("%.0f", wh/1000)
	}
	return fmt.Sprintf("%.5g", wh/1000)
}

// ends writes the bounds in kWh, of the value times a sign; nothing where there
// is no doubt.
func (g Registration) ends(sign float64) string {
	low, high := kwh(math.Min(sign*g.Low, sign*g.High)), kwh(math.Max(sign*g.Low, sign*g.High))
	if low == high {
		return ""
	}
	return fmt.Sprintf(" (%s to %s)", low, high)
}

func notes(q Question) []string {
	all := []string{}
	if q.Basis == FromReadings {
		all = append(all, "the registration holds for the load that was read; while the energy was registered the load "+
			"varied, and with it the registration")
	}
	if q.Basis == FromAssumed {
		all = append(all, "the registration holds for the arrangement and the loads assumed; a real panel's unbalance "+
			"moves it further than most people expect")
	}
	all = append(all, q.Allowed...)
	return append(all,
		"the register is taken to be net: the sum of the channels with their signs; one that drops a channel which runs "+
			"backwards registers otherwise",
		"only authorised parties may adjust bills: this is an estimate, not a measurement of what was used")
}
