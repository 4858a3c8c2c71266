package mend

import (
	"math"

	"legwork/probe/reading"
)

// How far a reading may be off before it costs, and what the worst costs. Our
// choice, no source: a meter of class 1 with coarse registers stays within.
const (
	near    = 0.03
	worst   = 10.
	perTen  = 5.  // for each power of ten off
	fine    = 10. // for each part off within near: a number that is cut short fits less well
	idle    = 2.5 // next to no power: on one channel of several it is worth no mend of that point alone
	missing = 3.  // a quantity that the map has and the reading lacks
)

// cost is how far a reading contradicts itself and what mains can be; 0 is
// none. Signs of powers and angles are not looked at, since wiring turns them.
func cost(r *reading.Reading, has func(reading.Quantity, int) bool) float64 {
	sum := 0.
	for k := range r.Channels {
		sum += channelCost(&r.Channels[k], func(q reading.Quantity) bool { return has(q, k+1) })
	}
	sum += between(r)
	if f, ok := r.Frequency.Get(); ok {
		sum += within(f, 45, 66)
	} else if has(reading.Frequency, 0) {
		sum += missing
	}
	return sum + totals(r)
}

func channelCost(c *reading.Channel, has func(reading.Quantity) bool) float64 {
	sum := 0.
	for _, q := range []struct {
		quantity reading.Quantity
		known    bool
	}{{reading.Voltage, c.Voltage.Known()}, {reading.Current, c.Current.Known()}, {reading.Power, c.Power.Known()}} {
		if has(q.quantity) && !q.known {
			sum += missing
		}
	}
	v, okV := c.Voltage.Get()
	i, okI := c.Current.Get()
	if okV && v != 0 {
		sum += math.Min(within(v, 50, 800), within(v, 1900, 40000)+1) // low voltage is likelier
	}
	if okI {
		sum += within(i, 0, 10000)
		if i != 0 && math.Abs(i) < 1e-3 {
			sum += worst / 2
		}
	}
	if okV && okI && v*i > 20 {
		sum += againstVA(c, v*i)
	}
	for _, e := range []reading.Value{c.EnergyImport, c.EnergyExport} {
		if x, ok := e.Get(); ok {
			sum += within(x, 0, 1e13) / 2
		}
	}
	return sum
}

// againstVA compares what belongs to a channel with its V times I.
func againstVA(c *reading.Channel, va float64) float64 {
	sum := 0.
	if s, ok := c.Apparent.Get(); ok {
		sum += ratio(s, va)
	}
	p, okP := c.Power.Get()
	angle, okA := c.Angle.Get()
	pf, okF := c.PowerFactor.Get()
	q, okQ := c.Reactive.Get()
	if okF {
		sum += within(pf, -1.01, 1.01) + small(pf)
	}
	switch {
	case okP && okA:
		sum += part(p, va*math.Cos(angle.Radians()), va)
	case okP && okF:
		sum += ratio(p, va*pf)
	case okP && okQ:
		sum += ratio(math.Hypot(p, q), va)
	case okP:
		sum += bounded(p, va)
	}
	if okQ && okA {
		sum += part(q, va*math.Sin(angle.Radians()), va)
	} else if okQ {
		sum += upTo(q, va)
	}
	if okF && okA {
		sum += part(pf, math.Cos(angle.Radians()), 1) / 2
	}
	return sum
}

// small is what a power factor near zero costs: a crossed CT may have one, but
// it is no better an explanation than a scale.
func small(pf float64) float64 {
	if pf = math.Abs(pf); pf == 0 || pf >= 0.1 {
		return 0
	}
	return perTen / 2 * math.Log10(0.1/pf)
}

// part is what a magnitude costs beside another, of a whole: small where both
// are small.
func part(got, want, whole float64) float64 {
	got, want = math.Abs(got), math.Abs(want)
	if off := math.Abs(got-want) / whole; off <= near {
		return fine * off
	}
	return math.Max(1, ratio(got, want))
}

// ratio is what one magnitude costs beside another that it should equal.
func ratio(got, want float64) float64 {
	got, want = math.Abs(got), math.Abs(want)
	switch {
	case got == want:
		return 0
	case got == 0 || want == 0 || bad(got) || bad(want):
		return worst
	}
	off := math.Abs(math.Log10(got / want))
	if off <= near {
		return fine * off
	}
	return math.Min(worst, 0.5+perTen*off)
}

// bounded is a power beside its V times I where nothing tells the power factor:
// below a tenth is strange, though a CT on another leg reads next to none; above 1
// is wrong.
func bounded(p, va float64) float64 {
	if low := va / 10; math.Abs(p) < low {
		return math.Min(idle, ratio(p, low)/2)
	}
	return upTo(p, va)
}

func upTo(x, most float64) float64 {
	if math.Abs(x) <= most*(1+near) {
		return 0
	}
	return ratio(x, most)
}

// within is what a value costs outside of a range.
func within(x, low, high float64) float64 {
	switch {
	case bad(x):
		return worst
	case x >= low && x <= high:
		return 0
	case x > high && high > 0:
		return math.Min(worst, 1+perTen*math.Log10(x/high))
	case x > 0 && low > 0:
		return math.Min(worst, 1+perTen*math.Log10(low/x))
	}
	return worst
}

func bad(x float64) bool { return math.IsNaN(x) || math.IsInf(x, 0) }

// between compares the channels' voltages, and the voltages between legs.
func between(r *reading.Reading) float64 {
	sum, highest, lowest := 0., 0., math.Inf(1)
	for k := range r.Channels {
		if v, ok := r.Channels[k].Voltage.Get(); ok && v > 0 {
			highest, lowest = math.Max(highest, v), math.Min(lowest, v)
		}
	}
	if highest > 2.2*lowest { // a high leg, or a neutral crossed, stays below
		sum += math.Min(worst, perTen*math.Log10(highest/lowest))
	}
	for _, l := range r.LineVoltages {
		if u, ok := l.Get(); ok && highest > 0 && u != 0 {
			sum += within(u, 0.4*lowest, 2.3*highest)
		}
	}
	return sum
}

// totals compares sums with what they are sums of.
func totals(r *reading.Reading) float64 {
	sum, p, s, all := 0., 0., 0., len(r.Channels) > 0
	for k := range r.Channels {
		x, ok := r.Channels[k].Power.Get()
		y, _ := r.Channels[k].Apparent.Get()
		p, s, all = p+x, s+math.Max(math.Abs(x), y), all && ok
	}
	if t, ok := r.TotalPower.Get(); ok && all && s > 20 {
		sum += part(t, p, s)
	}
	return sum
}
