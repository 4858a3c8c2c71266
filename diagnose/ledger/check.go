package ledger

import (
	"fmt"
	"slices"

	"legwork/diagnose/wiring"
	"legwork/probe/reading"
)

// Judge works out the differences and compares what can be compared. capture
// may be nil.
func (l *Ledger) Judge(capture *Integral) Result {
	r := Result{Legwork: 1, Meter: l.Meter, Reads: len(l.Entries), Differences: []Difference{}, Checks: []Check{},
		Gaps: []Gap{}, Notes: []string{}}
	all, gaps := l.differences()
	r.Differences, r.Gaps = append(r.Differences, all...), append(r.Gaps, gaps...)
	r.Totals = totals(all)
	whole := map[string]int{"kWh": phasesOf(all, "kWh"), "kVAh": phasesOf(all, "kVAh")}
	for _, s := range spans(all) {
		r.Checks = append(r.Checks, s.phases(whole)...)
		r.Checks = append(r.Checks, s.apparent()...)
		if capture != nil {
			r.Checks = append(r.Checks, s.against(capture)...)
		}
	}
	r.wholeTurns(l)
	r.decide()
	r.note(l, capture)
	return r
}

// phasesOf counts the phases that any span has.
func phasesOf(all []Difference, unit string) int {
	n := 0
	for k := 1; k <= 3; k++ {
		if slices.ContainsFunc(all, func(d Difference) bool { return d.Register == (Register{unit, k}).String() }) {
			n++
		}
	}
	return n
}

// phases compares the sum of the channels with the total, where no phase is
// lacking that other spans have.
func (s span) phases(whole map[string]int) []Check {
	var all []Check
	for _, unit := range []string{"kWh", "kVAh"} {
		total, ok := s.of[unit]
		if !ok {
			continue
		}
		names, sum, within, known := "", 0.0, total.Within, true
		n := 0
		for k := 1; k <= 3; k++ {
			d, ok := s.of[Register{unit, k}.String()]
			if !ok {
				continue
			}
			x, ok := d.Energy.Get()
			known = known && ok
			if n++; n > 1 {
				names += " + "
			}
			names, sum, within = names+d.Register, sum+x, within+d.Within
		}
		if n < 2 || n < whole[unit] {
			continue
		}
		c := s.check(names + " against " + unit)
		c.Within = within
		if c.Expected = total.Energy; known && total.Energy.Known() {
			c.Found = reading.Known(tidy(sum))
		}
		c.compare()
		if c.Verdict == wiring.Fault {
			c.Note = "a phase that ran backwards is taken off by some totals and dropped by others; a CT or voltage input " +
				"may be wired wrong, or a figure misread"
			if unit == "kVAh" {
				c.Note = "apparent energies need not add up: a total of the phasors is smaller than the sum of the phases"
				c.Verdict = verdictOf(sum+within >= total.Energy.Or(0))
			}
		}
		all = append(all, c)
	}
	return all
}

// apparent finds active energy beyond apparent energy, which can't be.
func (s span) apparent() []Check {
	var all []Check
	for k := range 4 {
		active, ok := s.of[Register{"kWh", k}.String()]
		apparent, ok2 := s.of[Register{"kVAh", k}.String()]
		if !ok || !ok2 {
			continue
		}
		c := s.check(active.Register + " against " + apparent.Register)
		c.Found, c.Expected, c.Within = active.Energy, apparent.Energy, active.Within+apparent.Within
		c.compare()
		if p, q := c.Found.Or(0), c.Expected.Or(0); c.Verdict != wiring.Undecided {
			c.Verdict = verdictOf(p <= q+c.Within)
			c.Note = "active energy is beyond apparent energy, which can't be: a misread figure or two multipliers"
			if c.Verdict == wiring.Agrees {
				c.Note = "nothing went through"
				if q > c.Within {
					c.Note = fmt.Sprintf("mean power factor %.3f", min(1, p/q))
				}
			}
		}
		all = append(all, c)
	}
	return all
}

// decide gives the verdict and the sentence.
func (r *Result) decide() {
	whole, faults := 0, 0
	for _, d := range r.Differences {
		if d.Energy.Known() {
			whole++
		}
	}
	var first string
	for _, c := range r.Checks {
		if c.Verdict == wiring.Fault {
			if faults++; faults == 1 {
				first = fmt.Sprintf("%s: %s, not %s, give or take %.3g", c.What, plainFigure(c.Found.Or(0)),
					plainFigure(c.Expected.Or(0)), c.Within)
			}
		}
	}
	switch {
	case faults > 0:
		r.Verdict, r.Summary = wiring.Fault, fmt.Sprintf("%d of %d comparisons differ: %s.", faults, len(r.Checks), first)
	case whole < len(r.Differences):
		r.Verdict, r.Summary = wiring.Undecided, fmt.Sprintf("%d of %d differences can't be told: %s.",
			len(r.Differences)-whole, len(r.Differences), r.whyNot())
	case len(r.Differences) == 0:
		r.Verdict, r.Summary = wiring.Undecided, "No register was read twice from one meter."
	case r.open():
		r.Verdict, r.Summary = wiring.Undecided, "The differences are told, but a comparison was not possible."
	default:
		r.Verdict, r.Summary = wiring.Agrees, fmt.Sprintf("%s; %s.", counted(len(r.Differences), "difference"),
			r.agreement())
	}
}

// whyNot says why differences can't be told.
func (r *Result) whyNot() string {
	why := ""
	for kind, words := range map[Kind]string{Backwards: "the register stands lower than before",
		Beyond: "it would be more power than a low-voltage service carries"} {
		if slices.ContainsFunc(r.Differences, func(d Difference) bool { return d.Kind == kind }) {
			if why != "" {
				return "the register stands lower than before, or it would be more power than a low-voltage service carries"
			}
			why = words
		}
	}
	return why
}

func counted(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

func (r *Result) agreement() string {
	switch len(r.Checks) {
	case 0:
		return "nothing to compare " + map[bool]string{true: "it", false: "them"}[len(r.Differences) == 1] + " with"
	case 1:
		return "1 comparison, and it agrees"
	}
	return fmt.Sprintf("%d comparisons, and they agree", len(r.Checks))
}

func (r *Result) open() bool {
	return slices.ContainsFunc(r.Checks, func(c Check) bool { return c.Verdict == wiring.Undecided })
}

func (r *Result) note(l *Ledger, capture *Integral) {
	r.Notes = append(r.Notes, l.Struck...)
	if len(l.Entries) > 0 && !l.Zoned {
		r.Notes = append(r.Notes, "the times have no zone and are taken as of one clock; a change to or from summer time "+
			"between reads isn't seen")
	}
	r.Notes = append(r.Notes, "a register is cut off at its last digit, so every difference is right within one step "+
		"of it, times the multiplier")
	if capture != nil {
		r.Notes = append(r.Notes, fmt.Sprintf("power of the capture is taken as going straight from one reading to the "+
			"next, up to %s apart; what is further apart is not covered", capture.Gap))
	}
}
