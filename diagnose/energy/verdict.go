package energy

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"legwork/diagnose"
	"legwork/diagnose/doubt"
	"legwork/diagnose/wiring"
)

// When says when the energy was registered, against when the readings were taken.
type When uint8

// The two.
const (
	OtherTimes When = iota // some load among those that were read
	SameTime               // the very time of the readings: their mean load
)

// meterNoise is what registers and the meter itself add, one standard deviation
// as a share of the energy. An assumption of ours, no source.
const meterNoise = 0.0005

// indirect is one standard deviation, as a share, of K where the legs' voltages
// aren't all read and the verdict takes them from the service: what CTs and
// unbalanced voltages make together. Set by the coverage that the tests print.
const indirect = 0.018

// Known is what is known beside the readings.
type Known struct {
	Registered float64 // Wh
	When       When
	CTs        CTs
}

// OfVerdict makes a question of a verdict and the readings that it is of.
func OfVerdict(d diagnose.Result, observed *Observations, by Known) Question {
	q := Question{Registered: by.Registered, Basis: FromReadings, Conditions: "as measured"}
	if len(d.Explanations) == 0 {
		q.Unknown = "nothing is known of the wiring: " + strings.TrimRight(d.Summary, ".")
		return q
	}
	x := d.Explanations[0]
	q.Words = x.Words
	best, ok := x.Registration.Get()
	switch {
	case d.KeepAway:
		q.Unknown = "the neutral of the service may be lost, which destroys loads: keep away from the panel, switch nothing, and tell those " +
			"answerable for the supply"
		return q
	case d.Verdict == diagnose.Undecided:
		q.Unknown = fmt.Sprintf("the wiring isn't settled, and every explanation has a registration of its own; settle it "+
			"first with `legwork diagnose` (%s)", strings.TrimRight(d.Summary, "."))
		return q
	case !ok:
		q.Unknown = "the true power of some leg isn't measured, or is near nothing; --assume with a range of power " +
			"factors gives what may be assumed of it"
		return q
	}
	g := Registration{best, x.RegistrationLow.Or(best), x.RegistrationHigh.Or(best)}
	q.Conditions = "as measured, of one load"
	k := g.inverse().widened(1.96 * indirect)
	q.Allowed = []string{fmt.Sprintf("the interval allows for CTs of %s (--ct-class)", by.CTs)}
	flows, ok := observed.flows(d, best)
	differs := observed.mayDiffer(by.When)
	switch whole, told := coarse(d); {
	case ok:
		g, k = overAll(flows, g, by, differs)
		q.Conditions = conditions(len(flows[0]), by.When)
	case told && !nearOne(g):
		differs = true
		g, k = whole.forPeriod(g, k)
	case !nearOne(g):
		q.Unknown = "one look doesn't tell how the registration varies with the load here; " + takeADay
		return q
	}
	if differs && !nearOne(g) {
		q.Allowed = append(q.Allowed,
			fmt.Sprintf("it allows too for a load over the period that was another than the one read: by "+
				"%.0f %% on each leg and %.0f degrees (one standard deviation, assumed); to narrow it, %s",
				100*periodSize, math.Hypot(periodTogether, periodAlone), takeADay))
	}
	q.Registration, q.K = &g, &k
	return q
}

// takeADay is what settles how a registration varies.
const takeADay = "take readings over a day and more and give the capture: " +
	"`legwork read METER --every 1m --save day.jsonl`"

// nearOne reports a registration that no load moves: all that flows is registered.
func nearOne(g Registration) bool {
	return math.Abs(g.Best-1) <= leastRegistration && g.Low <= 1 && g.High >= 1
}

func conditions(n int, when When) string {
	switch {
	case n == 1:
		return "as measured, of one load"
	case when == SameTime:
		return fmt.Sprintf("as measured, the mean of %d readings over the time of the energy", n)
	}
	return fmt.Sprintf("as measured, any load like the %d readings", n)
}

// flows gives what every row means under a verdict's first explanation, and
// under each of its twins; ok is false where the rows can't tell it, or don't
// agree with the verdict's own registration.
func (s *Observations) flows(d diagnose.Result, best float64) (all [][]drawnFlow, ok bool) {
	if s == nil || len(s.rows) == 0 {
		return nil, false
	}
	layouts, ok := layoutsOf(d)
	for i := range layouts {
		under, fits := s.under(&layouts[i], best)
		ok = ok && fits
		all = append(all, under)
	}
	return all, ok
}

// under gives what every row means under a layout.
func (s *Observations) under(l *layout, best float64) ([]drawnFlow, bool) {
	all := make([]drawnFlow, 0, len(s.rows))
	for _, row := range s.rows {
		f, ok := l.flowOf(row)
		if !ok {
			return nil, false
		}
		all = append(all, f)
	}
	near := 0.02 // our choice
	if l.Service.Kind == wiring.Delta {
		near = 0.1 // the verdict's own takes a balanced triangle
	}
	return all, math.Abs(all[len(all)-1].ratio()-best) <= near*math.Max(1, math.Abs(best))
}

// overAll gives the registration and K of the first explanation, with bounds
// that hold for its twins too: they read alike, and hardly differ here.
func overAll(all [][]drawnFlow, last Registration, by Known, differs bool) (g, k Registration) {
	for i, flows := range all {
		h, m := over(flows, last, by, differs)
		if i == 0 {
			g, k = h, m
			continue
		}
		g.Low, g.High = math.Min(g.Low, h.Low), math.Max(g.High, h.High)
		k.Low, k.High = math.Min(k.Low, m.Low), math.Max(k.High, m.High)
	}
	return g, k
}

// over gives the registration and K of several flows, with what the CTs may be
// off by, and where the period's load may differ, what that makes of it; last is the
// verdict's registration of the last one. The registration is
// that of the sums, measured over actual, and K = 1/registration. Independent
// half-widths, of the CTs and of which load it was, add up as the root of the sum
// of squares (JCGM 100:2008, 5.1.2).
func over(all []drawnFlow, last Registration, by Known, differs bool) (g, k Registration) {
	var sum drawnFlow
	ratios := make([]float64, 0, len(all))
	for _, f := range all {
		sum.add(f)
		ratios = append(ratios, f.ratio())
	}
	mean := sum.ratio()
	down, up := last.Best-last.Low, last.High-last.Best
	kHalf := sum.half(by.CTs, len(all)) / math.Abs(mean)
	kDown, kUp := kHalf, kHalf
	if by.When == OtherTimes && len(all) > 1 {
		slices.Sort(ratios)
		// The next of n + 1 alike lies beyond the k-th from either end in 2 k of
		// n + 1 cases.
		end := max((len(ratios)+1)/40-1, 0)
		low, high := ratios[end], ratios[len(ratios)-1-end]
		down, up = math.Hypot(down, mean-low), math.Hypot(up, high-mean)
		if low*high > 0 {
			ends := Registration{mean, low, high}.inverse()
			kDown, kUp = math.Hypot(kDown, ends.Best-ends.Low), math.Hypot(kUp, ends.High-ends.Best)
		}
	}
	g = Registration{Best: mean, Low: mean - down, High: mean + up}
	k = Registration{Best: 1 / mean, Low: 1/mean - kDown, High: 1/mean + kUp}
	if differs {
		return sum.forPeriod(g, k)
	}
	return g, k
}

// half is half the width of the 95 % interval of the true energy, as a share of
// it, for a sum of n flows: a voltage that wasn't read, off by a share e and an angle d
// (radians), makes of S = P + jQ an active part off by P e + Q d, each over P here; the CTs
// likewise (CTs.add). What is registered moves with the CTs' errors too, so that only those
// of the true power remain in the quotient.
func (f drawnFlow) half(cts CTs, n int) float64 {
	var sum doubt.Sum
	actual := math.Abs(f.actual())
	sum.Normal(meterNoise)
	size, degrees := f.from.Slack()
	sum.Normal(size)
	for _, z := range f.part {
		sum.Normal(imag(z) / actual * degrees * math.Pi / 180)
	}
	for k, z := range f.part {
		cts.add(&sum, z/complex(actual, 0), f.amps[k]/float64(n))
	}
	return sum.Half()
}
