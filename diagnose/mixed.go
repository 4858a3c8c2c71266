package diagnose

import (
	"fmt"
	"math"
	"math/cmplx"
	"time"

	"legwork/diagnose/internal/evidence"
	"legwork/probe/reading"
)

// Readings from a file may be of two meters, or of one meter before and after its wiring
// was changed: judged as one, the fault of the one half disappears in the other. Each of
// some readings is therefore judged by itself too, and their levels are followed.

// mixed follows the readings of a file; nil is a live meter.
type mixed struct {
	line   func() int // of the reading that is added
	kept   []sample   // spread over all readings
	stride int
	n      int // readings so far

	last         [2]sample // the latest two, the newest first
	triples, was int       // readings with two before them, and those that are back at the last but one
	jump         [2]int    // the lines of a jump of the whole level; 0 for none
}

// sample is a reading with the line that it is on.
type sample struct {
	r    reading.Reading
	line int
}

// Bounds of what is followed. Our choice, no source.
const (
	mostSamples    = 64               // that are judged by themselves
	contraryShare  = 0.1              // of the decided ones, from which on the rest is not believed
	contrarySure   = 0.97             // probability from which on a part is sure enough
	contraryFault  = 0.9              // the same of a fault that would disappear otherwise
	contraryLeast  = 0.05             // probability of what all show from which on a part allows it
	leastParted    = 8                // readings, for parts of them to be judged
	alternateLeast = 3                // times that readings alternate between two levels
	alternateShare = 0.5              // of all
	jumpFactor     = 3.0              // by which every channel's current jumps
	unlikeChanges  = 1.5              // ratio of the changes, above which no one load makes them
	jumpWithin     = 10 * time.Second // of two readings, for a jump to be no ordinary coming and going
)

// add takes a reading.
func (m *mixed) add(r reading.Reading) {
	if m == nil {
		return
	}
	now := sample{r, m.line()}
	if m.stride = max(m.stride, 1); m.n%m.stride == 0 {
		m.kept = append(m.kept, now)
	}
	if m.n++; len(m.kept) > mostSamples {
		for i := range len(m.kept) / 2 {
			m.kept[i] = m.kept[2*i]
		}
		m.kept, m.stride = m.kept[:len(m.kept)/2], 2*m.stride
	}
	m.follow(now)
}

// follow compares the levels of three readings in a row.
func (m *mixed) follow(now sample) {
	if m.n > 1 && m.jump[0] == 0 && now.r.At.Sub(m.last[0].r.At) <= jumpWithin && levelJump(&m.last[0].r, &now.r) {
		m.jump = [2]int{m.last[0].line, now.line}
	}
	if m.n > 2 {
		m.triples++
		if sameLevel(&m.last[1].r, &now.r) && unlikeLevel(&m.last[0].r, &now.r) {
			m.was++
		}
	}
	m.last[1], m.last[0] = m.last[0], now
}

// phasors are the currents that a reading gives, each from its own voltage.
func phasors(r *reading.Reading) (all []complex128) {
	for k := range min(len(r.Channels), 3) {
		o := evidence.Limits{MinCurrent: DefaultMinCurrent}.Observe(r.Channels[k])
		z := complex(o.Amps, 0)
		if p, ok := o.Phasor(); ok {
			z = p
		}
		all = append(all, z)
	}
	return all
}

// sameLevel reports readings of one load: within 3 % and half an ampere.
func sameLevel(a, b *reading.Reading) bool {
	x, y := phasors(a), phasors(b)
	for k := range x {
		if len(x) != len(y) || cmplx.Abs(x[k]-y[k]) > 0.03*cmplx.Abs(x[k])+0.5 {
			return false
		}
	}
	return len(x) > 1
}

// unlikeLevel reports readings whose every current is another one, by changes so unlike
// that no one load makes them.
func unlikeLevel(a, b *reading.Reading) bool {
	x, y := phasors(a), phasors(b)
	least, most := math.Inf(1), 0.0
	for k := range x {
		if len(x) != len(y) || k < len(x) && cmplx.Abs(x[k]-y[k]) < 0.05*cmplx.Abs(x[k])+0.5 {
			return false
		}
		change := cmplx.Abs(x[k] - y[k])
		least, most = math.Min(least, change), math.Max(most, change)
	}
	return len(x) > 1 && most > unlikeChanges*least
}

// levelJump reports loaded channels all of whose currents jump one way, by unlike changes.
func levelJump(a, b *reading.Reading) bool {
	x, y := phasors(a), phasors(b)
	up, down := true, true
	for k := range x {
		if len(x) != len(y) {
			return false
		}
		was, is := cmplx.Abs(x[k]), cmplx.Abs(y[k])
		if was < DefaultMinCurrent || is < DefaultMinCurrent {
			return false
		}
		up, down = up && is > jumpFactor*was, down && was > jumpFactor*is
	}
	return len(x) > 2 && (up || down) && unlikeLevel(a, b)
}

// said is that; the zero value where they may be judged as one.
func (m *mixed) said(final *judgement, judge judges) mixture {
	switch {
	case m == nil || m.n < 2:
		return mixture{}
	case m.was >= alternateLeast && float64(m.was) >= alternateShare*float64(m.triples):
		return mixture{fmt.Sprintf("from line to line, up to line %d", m.last[0].line),
			"the readings go to and fro between two loads, all currents at once"}
	case m.jump[0] > 0:
		return mixture{fmt.Sprintf("at line %d", m.jump[1]),
			fmt.Sprintf("all currents jump at once, each by another factor, between lines %d and %d", m.jump[0],
				m.jump[1])}
	}
	return m.contrary(final, judge)
}

// contrary judges the kept readings one by one, and parts of them, and says which are sure
// of other wiring than all of them together are.
func (m *mixed) contrary(final *judgement, judge judges) mixture {
	g := final.Top()
	if g == nil || !g.AnyJudged() {
		return mixture{}
	}
	whole := placed(g.Lead(), g.Service)
	all := final.tables.phrases.Get(g).Words
	decided, other, edge := 0, 0, 0
	var first sample
	var words string
	differs := false
	for _, s := range m.kept {
		x, ok := sureOf([]sample{s}, judge)
		if !ok {
			continue
		}
		was := differs
		if differs = x.contradicts(final, whole); differs {
			if other == 0 {
				first, words = s, x.top.Words
			}
			other++
		}
		if decided++; differs != was && decided > 1 && edge == 0 {
			edge = s.line
		}
	}
	if other > 0 && float64(other) >= contraryShare*float64(decided) {
		return mixture{fmt.Sprintf("at line %d", max(edge, first.line)),
			fmt.Sprintf("the reading on line %d shows by itself that %s, and all together that %s", first.line, words,
				all)}
	}
	for _, part := range m.parts() {
		if x, ok := sureOf(part, judge); ok && x.contradicts(final, whole) {
			from, to := part[0].line, part[len(part)-1].line
			return mixture{fmt.Sprintf("see lines %d to %d", from, to),
				fmt.Sprintf("lines %d to %d show by themselves that %s, and all together that %s", from, to,
					x.top.Words, all)}
		}
	}
	return mixture{}
}

// parts are the halves and quarters of the kept readings, and every second one.
func (m *mixed) parts() (all [][]sample) {
	n := len(m.kept)
	if n < leastParted {
		return nil
	}
	for _, parts := range [...]int{2, 4} {
		for i := range parts {
			all = append(all, m.kept[i*n/parts:(i+1)*n/parts])
		}
	}
	var each [2][]sample
	for i, s := range m.kept {
		each[i%2] = append(each[i%2], s)
	}
	return append(all, each[:]...)
}

// judges gives the result of some of the readings, judged by themselves.
type judges func([]reading.Reading) Result

// sure is a verdict that is sure enough to hold against another one.
type sure struct {
	Result
	top *Explanation
}

// sureOf judges a part of the readings; ok is false where it isn't sure.
func sureOf(part []sample, judge judges) (s sure, ok bool) {
	var readings []reading.Reading
	for _, one := range part {
		readings = append(readings, one.r)
	}
	s.Result = judge(readings)
	if s.Verdict == Undecided || len(s.Explanations) == 0 {
		return s, false
	}
	s.top = &s.Explanations[0]
	return s, true
}

// contradicts reports wiring of which this one is all but certain that it isn't so.
func (s *sure) contradicts(final *judgement, whole []CTPlaced) bool {
	least := contrarySure
	if final.Verdict == Agrees {
		least = contraryFault
	}
	return s.top.Probability >= least && !s.allows(whole)
}

// allows reports that a result lists a placing of the CTs, as far as both judge them.
func (r *Result) allows(whole []CTPlaced) bool {
	for _, x := range r.Explanations {
		if x.Probability >= contraryLeast && x.allows(whole) {
			return true
		}
	}
	return false
}

func (x *Explanation) allows(whole []CTPlaced) bool {
	for _, set := range append([][]CTPlaced{x.CT}, x.Twins...) {
		same := true
		for k := range min(len(set), len(whole)) {
			a, b := set[k], whole[k]
			if a.Leg == nil || b.Leg == nil {
				continue
			}
			same = same && *a.Leg == *b.Leg && *a.Reversed == *b.Reversed
		}
		if same {
			return true
		}
	}
	return false
}

// mix holds the verdict back where the readings aren't of one meter with one wiring.
func (j *judgement) mix(m *mixed, judge judges) {
	if j.mixture = m.said(j, judge); j.mixture.shows != "" {
		j.Verdict = Undecided
	}
}
