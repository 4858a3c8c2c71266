package clamp

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"legwork/diagnose/doubt"
	"legwork/diagnose/wiring"
	"legwork/probe/reading"
)

// Options say what is known beside the readings. The zero value is useful.
type Options struct {
	Accuracy     Accuracy // of the clamp ammeter; the zero value stands for 2 % + 5 digits
	VoltAccuracy Accuracy // of the voltmeter; the zero value stands for 1 % + 3 digits
	Set          Rating   // what the meter's CTs are set to; else the meter's own ct_primary
	Plate        Rating   // what the CTs are, as the job sheet says
	KeepAway     bool     // the service's neutral may be lost
	Service      wiring.Service
}

// loneDoubt is the standard deviation, as a share, that a single sample is
// given for the load's unsteadiness. An assumption of ours, no source.
const loneDoubt = 0.02

// widest half-width of a ratio, as a share, from which anything is concluded: our
// choice, for neighbouring standard ratings are a fifth apart or more.
const widest = 0.1

// Compare sets reads beside the samples of a meter, which are of one load.
func Compare(samples []reading.Reading, reads []Read, o Options) Result {
	if o.Accuracy == (Accuracy{}) {
		o.Accuracy = defaultCurrent()
	}
	if o.VoltAccuracy == (Accuracy{}) {
		o.VoltAccuracy = defaultVoltage()
	}
	r := Result{Legwork: 1, Samples: len(samples), Accuracy: o.Accuracy, VoltAccuracy: o.VoltAccuracy,
		Channels: []Compared{}, Explanations: []Explanation{}, Cautions: []string{}, Evidence: []string{}, Notes: []string{}}
	set := o.Set
	if set.Primary == 0 {
		set.Primary = primaryOf(samples)
	}
	if set.Primary != 0 {
		r.Set = &set
	}
	if o.KeepAway {
		r.stop()
		return r
	}
	for _, one := range reads {
		r.Channels = append(r.Channels, o.compare(samples, one, set))
		if e := one.Evidence(); e != "" {
			r.Evidence = append(r.Evidence, e)
		}
	}
	slices.SortStableFunc(r.Channels, func(a, b Compared) int {
		return cmp.Or(cmp.Compare(a.Quantity, b.Quantity), cmp.Compare(a.Channel, b.Channel))
	})
	r.tellRatings(o, primaryOf(samples))
	r.conclude(set, o.Service.Channels())
	r.caution()
	r.note()
	return r
}

// primaryOf is the rating that the meter says it is set to, or 0.
func primaryOf(samples []reading.Reading) float64 {
	if len(samples) == 0 {
		return 0
	}
	if a := samples[len(samples)-1].CTPrimary.Or(0); a > 0 && a <= most {
		return a
	}
	return 0
}

// channelOf is the channel that measures a leg when it is wired right.
func (o Options) channelOf(leg int) int {
	for k := 1; k <= o.Service.Channels() && o.Service.Kind != 0; k++ {
		if o.Service.HomeLeg(wiring.Channel(k)) == wiring.Leg(leg) {
			return k
		}
	}
	return leg
}

func (o Options) compare(samples []reading.Reading, one Read, set Rating) Compared {
	c := Compared{Quantity: one.Quantity.String(), Leg: one.Leg, Channel: o.channelOf(one.Leg), Instrument: one.Value,
		Ratings: []Explained{}}
	accuracy, slack := o.Accuracy, currentSlack
	if one.Quantity == reading.Voltage {
		accuracy, slack = o.VoltAccuracy, voltageSlack
	}
	c.Limit = accuracy.limit(one)
	values := valuesOf(samples, reading.Point{Quantity: one.Quantity, Index: c.Channel})
	if len(values) == 0 {
		c.State = NotRead
		return c
	}
	mean, deviation := doubt.Spread(values) // A or V, over the samples
	c.Meter, c.Ratio = reading.Known(mean), reading.Known(mean/one.Value)
	if len(values) > 1 {
		c.Deviation = reading.Known(deviation)
	}
	unsteady, half := c.doubts(one, values)
	// The ratio is meter over true; true lies within half of what the instrument
	// shows, 95 times in 100. Where half reaches the value there is no upper end.
	c.Low = reading.Known(mean / (one.Value + half))
	if half < one.Value {
		c.High = reading.Known(mean / (one.Value - half))
	}
	c.judge(half/one.Value, unsteady, slack)
	if c.State == Off && one.Quantity == reading.Current {
		c.Ratings = ratingsFor(set, c.Ratio.Or(1), c.Low.Or(0)*(1-slack), c.High.Or(0)*(1+slack))
	}
	return c
}

func valuesOf(samples []reading.Reading, p reading.Point) []float64 {
	var all []float64
	for i := range samples {
		if x, ok := samples[i].Number(p).Get(); ok {
			all = append(all, x)
		}
	}
	return all
}

// doubts gives the half-width, in the instrument's unit, of what the load may
// have been off by, and of all doubt together. The instrument was read at some
// moment of the samples, so the load then differs from their mean as one of
// them does.
func (c *Compared) doubts(one Read, values []float64) (unsteady, all float64) {
	mean := c.Meter.Or(0)
	var load doubt.Sum
	if len(values) == 1 || mean == 0 {
		load.Normal(loneDoubt * one.Value)
	} else {
		off := make([]float64, len(values))
		for i, x := range values { // the load at sample i less its mean, at the instrument's scale
			off[i] = (x/mean - 1) * one.Value
		}
		load.OneOf(off)
	}
	sum := load
	sum.Even(c.Limit)                          // JCGM 100:2008, 4.3.7: limits alone are known
	sum.Even(one.Digit / 2)                    // rounding to the last digit
	return 1.96 * load.Deviation(), sum.Half() // 1.96: Gaussian, 95 %
}

// judge says what a ratio shows, given its half-width as a share, what the load
// was off by in the instrument's unit, and what a right channel may be off by as a
// share. Beyond three times the widest even a ratio that is off says nothing (our
// choice).
func (c *Compared) judge(half, unsteady, slack float64) {
	low, high := c.Low.Or(0)*(1-slack), c.High.Or(math.Inf(1))*(1+slack)
	switch {
	case low <= 1 && 1 <= high && half <= widest:
		c.State = Right
	case half > widest && unsteady > c.Limit && (low <= 1 && 1 <= high || half > 3*widest):
		c.State = Unsteady
	case half > widest && low <= 1 && 1 <= high:
		c.State = TooSmall
	case unsteady/c.Instrument > widest:
		c.State = Unsteady
	case c.Quantity == reading.Current.String() && low*(1-driftSlack) <= 1 && 1 <= high*(1+driftSlack):
		c.State = Drifted
	default:
		c.State = Off
	}
}

func (r *Result) note() {
	if r.Samples == 1 {
		r.Notes = append(r.Notes, fmt.Sprintf("one sample says nothing of how steady the load is; %g %% was assumed",
			100*loneDoubt))
	}
	r.Notes = append(r.Notes, "the instrument's error is taken as evenly spread within its stated limits")
	for _, c := range r.Channels {
		if c.Quantity == reading.Current.String() && r.Set == nil {
			r.Notes = append(r.Notes, "what the meter's CTs are set to isn't known; with --ct 200/5 the standard ratings "+
				"that fit are named")
			break
		}
	}
}
