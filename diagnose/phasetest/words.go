package phasetest

import (
	"fmt"
	"slices"
	"strings"

	"legwork/diagnose/wiring"
)

// summary is the outcome in a sentence.
func (j *judgement) summary() string {
	switch {
	case j.verdict() == wiring.Agrees:
		if j.t.Poles() == 1 {
			return "The pole is on the leg."
		}
		return "Every pole is on the leg of its number."
	case j.settled():
		return upper(j.t.said(j.top())) + "."
	case len(j.set.counts) == 0:
		return "Nothing was read yet."
	case j.left.best > oneWrong:
		return fmt.Sprintf("No mapping explains the readings: at least %d of them would have to be wrong.", j.left.best)
	case j.left.best == oneWrong:
		return "The readings contradict each other: one of them has to be wrong."
	case !j.left.single():
		return "The readings leave it open, if one of them may be wrong."
	case len(j.unchecked()) > 0:
		return upper(j.t.said(j.top())) + ", if the taps are live: " + j.uncheckedWords() + "."
	}
	return upper(j.t.said(j.top())) + ", if the tester was in order: it wasn't said to be proved before and after."
}

// upper begins a sentence.
func upper(s string) string { return strings.ToUpper(s[:1]) + s[1:] }

func (j *judgement) uncheckedWords() string {
	var names []string
	for _, k := range j.unchecked() {
		names = append(names, fmt.Sprint(k))
	}
	word := "pole "
	if len(names) > 1 {
		word = "poles "
	}
	return word + listed(names) + " not seen at nominal voltage"
}

// readings says what was made of each reading, in the order given.
func (j *judgement) readings() []ReadingRead {
	all := []ReadingRead{}
	aside := slices.Clone(j.set.aside)
	for _, r := range j.all {
		one := ReadingRead{Pair: PairName(j.t.Service, r.Pair), Use: Fits}
		if j.t.Dead {
			one.Closed, one.Said = &r.Closed, r.Said
		} else {
			one.Volts = &r.Volts
		}
		if n := slices.Index(aside, r); n >= 0 {
			aside = slices.Delete(aside, n, n+1)
			one.Use, one.Why = SetAside, "a later reading of the pair differs; the later one counts"
		} else {
			one.Use, one.Why = j.use(r)
		}
		all = append(all, one)
	}
	return all
}

// use says what a reading that counts did.
func (j *judgement) use(r Reading) (Use, string) {
	if j.y.never(r) {
		return Unexplained, j.whyNever(r)
	}
	for _, i := range j.left.open {
		if j.y.cost(i) == j.left.best && !j.t.explains(r, j.y.mappings[i].ends(r.Pair), j.y.bestWorld(i)) {
			return InDoubt, "wrong if " + j.t.said(j.y.mappings[i])
		}
	}
	return Fits, ""
}

// whyNever says why no mapping explains a reading.
func (j *judgement) whyNever(r Reading) string {
	if j.t.Dead {
		return "the legs, or a leg and the neutral, are not isolated: open what joins them, and read again"
	}
	what := fmt.Sprintf("%s is nothing that %s gives there", j.t.shown(r), j.t.Service.Name)
	if names := fitting(r, j.t.Service); len(names) > 0 {
		what += "; " + strings.Join(names, ", ") + " would: is the service declared right?"
	}
	return what
}

// fitting lists the other services that would give a reading between a leg and
// a live pole, or a live pole and the neutral.
func fitting(r Reading, not wiring.Service) []string {
	var names []string
	for _, s := range wiring.Services() {
		o := Test{Service: s}
		from, to := r.Pair.From, r.Pair.To
		if s.Name == not.Name || from.Number > o.Poles() || to.Number > o.Poles() || to.Kind == Neutral && !hasNeutral(s) {
			continue
		}
		if o.gives(r) {
			names = append(names, s.Name)
		}
	}
	return names
}

// gives reports whether the reading is one of a live pole on a leg.
func (t Test) gives(r Reading) bool {
	for i := range t.Service.Legs() {
		m := make(mapping, t.Poles())
		for k := range m {
			m[k] = state(i)
		}
		for _, w := range t.worlds() {
			if t.explains(r, m.ends(r.Pair), &w) {
				return true
			}
		}
	}
	return false
}

// notes says what the person should know of these readings.
func (j *judgement) notes() []string {
	all := []string{}
	if !j.t.Proved {
		all = append(all, "Without --proved nothing is settled: a tester that has failed reads about 0 V to everything, "+
			"so prove it on a known source before and after")
	}
	if j.left.single() {
		for _, k := range j.unchecked() {
			all = append(all, fmt.Sprintf("About 0 V at pole %d doesn't count until the tap itself reads nominal: a dead tap "+
				"reads about 0 V to everything", k))
		}
	}
	if j.t.Dead {
		all = append(all, j.joinedNotes()...)
	} else if len(j.set.counts) > 0 {
		all = append(all, j.deadNotes()...)
	}
	if j.verdict() != wiring.Undecided && !j.t.coloursFit() {
		all = append(all, fmt.Sprintf("%s is a practice for other voltages than %s", j.t.Colours, j.t.Service.Name))
	}
	if j.verdict() != wiring.Undecided {
		all = append(all, "A phase test names legs; it doesn't tell their sequence")
	}
	return all
}

// deadNotes speaks of poles that are dead under the best mapping, and of legs
// that the readings suspect.
func (j *judgement) deadNotes() []string {
	var all []string
	for k, s := range j.top() {
		if s != deadPole || j.left.best > 0 || !j.tapRead(k+1) {
			continue
		}
		if v := j.tapVolts(k + 1); v != nil && *v > j.t.zeroBelow() {
			all = append(all, fmt.Sprintf("Pole %d isn't dead: %.0f V to neutral, as behind an open fuse or lead that is fed from "+
				"elsewhere, through a load or a transformer; treat it as live", k+1, *v))
			continue
		}
		all = append(all, fmt.Sprintf("Pole %d reads like a dead tap, which isn't proof that it is dead: an open fuse or "+
			"breaker, a broken lead, or a lead on the neutral", k+1))
	}
	if j.left.best > 0 {
		all = append(all, "A main leg that is dead itself reads wrong to every live tap: read each leg to neutral, or to "+
			"the other legs")
	}
	return all
}

// joinedNotes speaks of legs that continuity shows joined: a pole on one of
// them reads closed to the other too.
func (j *judgement) joinedNotes() []string {
	var all []string
	for _, r := range j.set.counts {
		if r.Closed && r.Pair.To.Kind != Pole {
			all = append(all, PairName(j.t.Service, r.Pair)+" is closed: a load or a transformer joins them; open it, and "+
				"begin again")
		}
	}
	return all
}
