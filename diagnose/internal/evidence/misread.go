package evidence

import (
	"math"

	"legwork/probe/reading"
)

// Mend is a change of the register map after which the ties of a reading hold.
type Mend struct {
	Change   Change
	Quantity reading.Quantity
	Channel  int     // counted from 1; 0 for all
	Factor   float64 // Rescale: by which the map's scale is to be multiplied
}

// Change is what a mend does.
type Change uint8

// The changes.
const (
	Rescale    Change = iota + 1 // a power of ten of one quantity
	TurnOver                     // import for export
	LagForLead                   // of the angle and of the reactive power
	Reorder                      // words or bytes of values over 16 bits
	Readdress                    // other registers: an address off by one, or the other table
)

// Prior log odds of a map that is wrong in one way, against a right one: our choice,
// no source. One map in twenty or so is wrong somewhere when it is first used. Halving or
// doubling the first four changes no verdict of TestSensitivity: ties hold or are broken.
const (
	oneScale    = -5.8 // one quantity by one power of ten, on all channels
	oneChannel  = -7.6 // the same on one channel
	turnedOver  = -7.0
	lagForLead  = -4.5
	otherwise   = -10.0 // registers that are something else: prior and what they then read
	unreadable  = -15.0 // log likelihood of a value that nothing can have, if the map is right
	leastDoubt  = -5.0  // ties that hold better than this raise no doubt
	worthNaming = -4.0  // against the best mend
)

// Misread is the register map in doubt.
type Misread struct {
	Odds  float64 // of a wrong map against a right one
	Mends []Mend  // the likeliest, which may be several that must be made together
}

// Doubt weighs whether the map misreads the meter: the ties of the reading as it is,
// against those after each mend. Faults are what was taken out of the reading.
func Doubt(r *reading.Reading, faults []Fault) Misread {
	right := Ties(r)
	best, mends := math.Inf(-1), []Mend(nil)
	var sum float64
	consider := func(log float64, all ...Mend) {
		sum += math.Exp(log)
		if log > best+1e-9 {
			best, mends = log, all
		}
	}
	if len(faults) > 0 {
		right += unreadable
		consider(otherwise+worthNaming, mendsOf(faults)...)
	}
	if right > leastDoubt {
		return Misread{}
	}
	for _, m := range candidates(len(r.Channels)) {
		mended := r.Clone()
		m.apply(&mended)
		consider(m.prior()+tiesFrom(&mended, m.leastAmps()), m)
	}
	consider(otherwise, Mend{Change: Readdress})
	return Misread{Odds: sum / math.Exp(right), Mends: mends}
}

// candidates are the single mends.
func candidates(channels int) []Mend {
	var all []Mend
	for _, q := range [...]reading.Quantity{reading.Power, reading.Current, reading.Voltage} {
		for _, factor := range [...]float64{0.001, 0.01, 0.1, 10, 100, 1000} {
			all = append(all, Mend{Rescale, q, 0, factor})
			for k := 1; k <= channels && channels > 1; k++ {
				all = append(all, Mend{Rescale, q, k, factor})
			}
		}
	}
	return append(all, Mend{Change: TurnOver, Quantity: reading.Power}, Mend{Change: LagForLead, Quantity: reading.AngleOf})
}

func (m Mend) prior() float64 {
	switch {
	case m.Change == TurnOver:
		return turnedOver
	case m.Change == LagForLead:
		return lagForLead
	case m.Channel > 0:
		return oneChannel
	}
	return oneScale
}

// leastAmps is that of a reading which was mended: what could be held against it before
// still can.
func (m Mend) leastAmps() float64 {
	if m.Change == Rescale && m.Quantity == reading.Current {
		return leastAmps * math.Min(1, m.Factor)
	}
	return leastAmps
}

// apply mends a reading as if its map had been.
func (m Mend) apply(r *reading.Reading) {
	for k := range r.Channels {
		if m.Channel > 0 && k != m.Channel-1 {
			continue
		}
		c := &r.Channels[k]
		by := func(x float64) float64 { return x * m.Factor }
		switch {
		case m.Change == TurnOver:
			c.Power = c.Power.Map(func(x float64) float64 { return -x })
		case m.Change == LagForLead:
			c.Reactive = c.Reactive.Map(func(x float64) float64 { return -x })
			c.Angle = c.Angle.Map(func(a reading.Angle) reading.Angle { return reading.Degrees(-float64(a)) })
		case m.Quantity == reading.Power:
			c.Power = c.Power.Map(by)
		case m.Quantity == reading.Current:
			c.Current = c.Current.Map(by)
		case m.Quantity == reading.Voltage:
			c.Voltage = c.Voltage.Map(by)
		}
	}
	if m.Channel == 0 && m.Quantity == reading.Power { // the total goes through the same map, most likely
		switch m.Change {
		case TurnOver:
			r.TotalPower = r.TotalPower.Map(func(x float64) float64 { return -x })
		case Rescale:
			r.TotalPower = r.TotalPower.Map(func(x float64) float64 { return x * m.Factor })
		}
	}
}

// mendsOf takes the mends of faults, each once.
func mendsOf(faults []Fault) []Mend {
	var all []Mend
	for _, f := range faults {
		m := Mend{Change: Readdress, Quantity: f.Point.Quantity, Channel: f.Point.Index}
		switch f.Kind {
		case NoSize:
			m = Mend{Change: Reorder}
		case OffByDecades:
			m = Mend{Rescale, f.Point.Quantity, 0, math.Pow(10, -f.Decade)}
		}
		known := false
		for _, o := range all {
			known = known || o == m
		}
		if !known {
			all = append(all, m)
		}
	}
	return all
}
