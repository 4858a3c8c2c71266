package survey

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"legwork/cmd/legwork/internal/sites"
	"legwork/diagnose/doubt"
	"legwork/probe/reading"
)

// What a meter and its CTs may be off by at ordinary loads, as shares of the
// power: class 1 of IEC 62053-21 (Table 4, from memory), and class 1 CTs between
// 20 and 100 % of their rating (IEC 61869-2, Table 201).
const (
	meterClass = 0.01
	ctClass    = 0.015
)

// driftShare is how much of a meter's power may have come or gone within a
// minute, one deviation, where too few readings show it. Our choice.
const driftShare = 0.1

// balances compares every meter that has others below it.
func balances(all []Meter, list *sites.List) []Balance {
	out := []Balance{}
	if list == nil {
		return out
	}
	below := map[string][]string{}
	var mains []string
	for _, s := range list.Sites {
		if s.Under != "" {
			if below[s.Under] == nil {
				mains = append(mains, s.Under)
			}
			below[s.Under] = append(below[s.Under], s.Name)
		}
	}
	if mains == nil {
		return out
	}
	known := map[string]*Meter{}
	for i := range all {
		known[all[i].Name] = &all[i]
	}
	for _, main := range mains {
		out = append(out, BalanceOf(main, below[main], known))
	}
	slices.SortStableFunc(out, func(a, b Balance) int {
		return cmp.Compare(math.Abs(b.Difference.Or(0)), math.Abs(a.Difference.Or(0)))
	})
	return out
}

// BalanceOf compares a meter with those below it. Meters that aren't known, or
// whose power isn't, leave it without a sum.
func BalanceOf(main string, below []string, known map[string]*Meter) Balance {
	b := Balance{Main: main, Below: below, Missing: []string{}}
	for _, name := range append([]string{main}, below...) {
		if m := known[name]; m == nil || !m.Power.Known() {
			b.Missing = append(b.Missing, name)
		}
	}
	if m := known[main]; m != nil {
		b.Power = m.Power
	}
	if len(b.Missing) > 0 {
		b.Summary = fmt.Sprintf("No sum: %s of %d meters gave no power (%s).", fmt.Sprint(len(b.Missing)), len(below)+1,
			few(b.Missing))
		return b
	}
	top := known[main]
	var sum, lost float64
	var off, offLost doubt.Sum
	top.doubts(&off, top.at)
	top.lossDoubt(&offLost)
	for _, name := range below {
		m := known[name]
		sum += m.Power.Or(0)
		lost += m.Lost.Or(0)
		m.doubts(&off, top.at)
		m.lossDoubt(&offLost)
	}
	diff, half := top.Power.Or(0)-sum, off.Half()
	b.Sum, b.Difference = reading.Known(sum), reading.Known(diff)
	b.Low, b.High = reading.Known(diff-half), reading.Known(diff+half)
	b.Opens = math.Abs(diff) > half
	explained := math.Abs(diff+top.Lost.Or(0)-lost) <= math.Hypot(half, offLost.Half())
	if b.Opens {
		b.Explained = &explained
	}
	b.Summary = b.words(known)
	return b
}

// doubts adds what the power of a meter may be off by when it is held against
// one read at another time.
func (m *Meter) doubts(s *doubt.Sum, at time.Time) {
	p := math.Abs(m.Power.Or(0))
	s.Even(p * meterClass)
	s.Even(p * ctClass)
	skew := math.Abs(m.at.Sub(at).Seconds())
	if m.spread > 0 && m.taken > 2 {
		if skew > 0 {
			s.Normal(m.spread)
		}
		return
	}
	s.Normal(driftShare * p * math.Sqrt(skew/60))
}

func (m *Meter) lossDoubt(s *doubt.Sum) {
	if m.Lost.Known() {
		s.Even((m.High.Or(0) - m.Low.Or(0)) / 2)
	}
}

// words says what the difference comes from.
func (b *Balance) words(known map[string]*Meter) string {
	if !b.Opens {
		return "The main and the sum agree within what the meters may be off by."
	}
	diff, way := b.Difference.Or(0), "more"
	if diff < 0 {
		way = "less"
	}
	all := []string{fmt.Sprintf("The main reads %s %s than the sum.", KW(math.Abs(diff)), way)}
	if parts := b.culprits(known); len(parts) > 0 {
		all = append(all, strings.Join(parts, "; ")+".")
	}
	return strings.Join(append(all, b.rest(b.pending(known))), " ")
}

// rest says where what the faults don't explain may come from; open are meters
// whose loss isn't known.
func (b *Balance) rest(open []string) string {
	switch {
	case *b.Explained:
		return "The verdicts explain the difference."
	case len(open) > 0:
		return fmt.Sprintf("The rest may come from %s: what is lost there isn't known.", few(open))
	case b.Difference.Or(0) > 0:
		return "The verdicts don't explain it. Look for a circuit without a meter, a meter missing from the list, " +
			"or a fault that readings can't show, such as a wrong CT ratio."
	}
	return "The verdicts don't explain it. Look for a fault of the main that readings can't show, such as a wrong " +
		"CT ratio, or a meter that is fed from elsewhere."
}

// mostCulprits are named.
const mostCulprits = 3

// culprits says what each fault is of the difference, the largest first.
func (b *Balance) culprits(known map[string]*Meter) []string {
	var all []*Meter
	for _, name := range append([]string{b.Main}, b.Below...) {
		if m := known[name]; m.Status == Fault && m.Lost.Known() {
			all = append(all, m)
		}
	}
	slices.SortStableFunc(all, func(x, y *Meter) int {
		return cmp.Compare(math.Abs(y.Lost.Or(0)), math.Abs(x.Lost.Or(0)))
	})
	var parts []string
	for _, m := range all[:min(len(all), mostCulprits)] {
		share := m.Lost.Or(0)
		if m.Name == b.Main {
			share = -share
		}
		way := "of it"
		if share*b.Difference.Or(0) < 0 {
			way = "the other way"
		}
		p := m.Power.Or(0)
		parts = append(parts, fmt.Sprintf("%s registers %.2f of its power: that is %s %s", m.Name, p/(p+m.Lost.Or(0)),
			KW(math.Abs(share)), way))
	}
	if rest := len(all) - len(parts); rest > 0 {
		parts = append(parts, fmt.Sprintf("and %d more", rest))
	}
	return parts
}

// pending are meters whose verdict leaves open what they lose.
func (b *Balance) pending(known map[string]*Meter) []string {
	var names []string
	for _, name := range append([]string{b.Main}, b.Below...) {
		if m := known[name]; m.Status != Agrees && !m.Lost.Known() {
			names = append(names, name)
		}
	}
	return names
}

// KW writes a power for people.
func KW(w float64) string {
	switch size := math.Abs(w); {
	case size < 1000:
		return fmt.Sprintf("%.0f W", math.Round(w)+0) // never -0
	case size < 10_000:
		return fmt.Sprintf("%.2f kW", w/1000)
	}
	return fmt.Sprintf("%.1f kW", w/1000)
}

// few lists at most three names.
func few(names []string) string {
	if len(names) <= 3 {
		return strings.Join(names, ", ")
	}
	return fmt.Sprintf("%s and %d more", strings.Join(names[:3], ", "), len(names)-3)
}
