package evidence

import (
	"iter"
	"math"

	"legwork/probe/reading"
)

// Mend is a change of the register map after which the ties of a reading hold.
type Mend struct {
	Change   Change
	Quantity reading.Quantity // of Exchange and Rescale, Power may have Q and S with it: see Powers
	Powers   bool             // with P, also Q and S
	Channel  int              // counted from 1; 0 for all
	Other    int              // Exchange: the channel that Channel is exchanged with; 0 for all, in a ring
	Factor   float64          // Rescale: by which the map's scale is to be multiplied; Exchange in a ring: by how many channels
}

// Change is what a mend does.
type Change uint8

// The changes.
const (
	Rescale    Change = iota + 1 // a factor of one quantity
	TurnOver                     // import for export
	LagForLead                   // of the angle and of the reactive power
	Reorder                      // words or bytes of values over 16 bits
	Readdress                    // other registers: an address off by one, or the other table; of one point alone where that is given
	Exchange                     // the channels of one quantity
)

// scales are the factors by which a scale may be off: powers of ten, and what line for leg
// voltages, halves and thirds do.
var scales = [...]float64{0.001, 0.01, 0.1, 10, 100, 1000, 2, 0.5, sqrt3, 1 / sqrt3, 3, 1.0 / 3}

const tens = 6 // of the scales

const sqrt3 = 1.7320508075688772

// mends are the single ones that a reading may need, of what it has.
func mends(r *reading.Reading) iter.Seq[Mend] {
	return func(yield func(Mend) bool) {
		_ = rescales(r, yield) && others(r, yield) && exchanges(r, yield) &&
			yield(Mend{Change: TurnOver, Quantity: reading.Power}) && yield(Mend{Change: LagForLead, Quantity: reading.AngleOf})
	}
}

// rescales are those of a scale.
func rescales(r *reading.Reading, yield func(Mend) bool) bool {
	known := sharesKnown(r)
	for _, q := range [...]reading.Quantity{reading.Power, reading.Current, reading.Voltage, reading.Reactive, reading.Apparent,
		reading.PowerFactor} {
		for k := range among(r, q) {
			for i, factor := range scales {
				if i >= tens && !known && q != reading.Voltage {
					break
				}
				m := Mend{Change: Rescale, Quantity: q, Channel: k, Factor: factor}
				if !yield(m) {
					return false
				}
				if m.Powers = true; q == reading.Power && r.Channels[0].Reactive.Known() && !yield(m) {
					return false
				}
			}
		}
	}
	return true
}

// sharesKnown reports what tells a factor that is no power of ten from what loads do.
func sharesKnown(r *reading.Reading) bool {
	for k := range r.Channels {
		if c := &r.Channels[k]; c.Reactive.Known() || c.Apparent.Known() || shown(c) {
			return true
		}
	}
	return false
}

// among are the channels of which a reading has a quantity, 0 for all of them first.
func among(r *reading.Reading, q reading.Quantity) iter.Seq[int] {
	return func(yield func(int) bool) {
		n := 0
		for k := range r.Channels {
			if r.Number(pointOf(q, k)).Known() {
				n++
			}
		}
		if n == 0 || !yield(0) || len(r.Channels) == 1 {
			return
		}
		for k := range r.Channels {
			if r.Number(pointOf(q, k)).Known() && !yield(k+1) {
				return
			}
		}
	}
}

// others are those of points that are something else than the map says.
func others(r *reading.Reading, yield func(Mend) bool) bool {
	for _, q := range [...]reading.Quantity{reading.Power, reading.Current, reading.Voltage, reading.Reactive, reading.Apparent,
		reading.PowerFactor, reading.AngleOf} {
		for k := range among(r, q) {
			if !yield(Mend{Change: Readdress, Quantity: q, Channel: k}) {
				return false
			}
		}
	}
	return !r.TotalPower.Known() || yield(Mend{Change: Readdress, Quantity: reading.TotalPower})
}

// exchanges are those of channels that are numbered otherwise for one quantity.
func exchanges(r *reading.Reading, yield func(Mend) bool) bool {
	n := len(r.Channels)
	for _, m := range [...]Mend{{Quantity: reading.Current}, {Quantity: reading.Power}, {Quantity: reading.Power, Powers: true},
		{Quantity: reading.Reactive}} {
		m.Change = Exchange
		for k := range n {
			for o := range k {
				m.Channel, m.Other = o+1, k+1
				if !yield(m) {
					return false
				}
			}
		}
		for m.Channel, m.Other, m.Factor = 0, 0, 1; n == 3 && m.Factor < 3; m.Factor++ {
			if !yield(m) {
				return false
			}
		}
	}
	return true
}

func (m Mend) prior() float64 {
	switch {
	case m.Change == TurnOver:
		return turnedOver
	case m.Change == LagForLead:
		return lagForLead
	case m.Change == Exchange:
		return exchanged
	case m.Change == Readdress && m.Channel == 0 && m.Quantity != reading.TotalPower:
		return allOther
	case m.Change == Readdress:
		return oneOther
	}
	log := oneScale
	if m.Channel > 0 {
		log = oneChannel
	}
	if tens := math.Log10(m.Factor); math.Abs(tens-math.Round(tens)) > 1e-9 {
		log += oddFactor
	}
	return log
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
	switch m.Change {
	case Exchange:
		m.exchange(r)
		return
	case Readdress:
		if m.Quantity == reading.TotalPower {
			r.TotalPower = reading.Value{}
		}
	}
	for k := range r.Channels {
		if m.Channel == 0 || k == m.Channel-1 {
			m.change(&r.Channels[k])
		}
	}
	if m.Channel == 0 && m.Quantity == reading.Power { // the total goes through the same map, most likely
		switch m.Change {
		case TurnOver:
			r.TotalPower = r.TotalPower.Map(func(x float64) float64 { return -x })
		case Rescale:
			m.rescaleTotal(r)
		}
	}
}

// rescaleTotal mends the total of powers that were mended, unless it fits them as it is.
func (m Mend) rescaleTotal(r *reading.Reading) {
	as := r.TotalPower
	r.TotalPower = as.Map(func(x float64) float64 { return x * m.Factor })
	scaled := tieOfTotal(r)
	mended := r.TotalPower
	if r.TotalPower = as; tieOfTotal(r) <= scaled {
		r.TotalPower = mended
	}
}

// change mends one channel.
func (m Mend) change(c *reading.Channel) {
	switch m.Change {
	case TurnOver:
		c.Power = c.Power.Map(func(x float64) float64 { return -x })
	case LagForLead:
		c.Reactive = c.Reactive.Map(func(x float64) float64 { return -x })
		c.Angle = c.Angle.Map(func(a reading.Angle) reading.Angle { return reading.Degrees(-float64(a)) })
	case Readdress:
		if m.Quantity == reading.AngleOf {
			c.Angle = reading.Maybe[reading.Angle]{}
		}
		for _, x := range m.values(c) {
			*x = reading.Value{}
		}
	case Rescale:
		for _, x := range m.values(c) {
			*x = x.Map(func(x float64) float64 { return x * m.Factor })
		}
	}
}

// values are those of a channel that a mend is about.
func (m Mend) values(c *reading.Channel) []*reading.Value {
	switch {
	case m.Powers:
		return []*reading.Value{&c.Power, &c.Reactive, &c.Apparent}
	case m.Quantity == reading.Power:
		return []*reading.Value{&c.Power}
	case m.Quantity == reading.Reactive:
		return []*reading.Value{&c.Reactive}
	case m.Quantity == reading.Apparent:
		return []*reading.Value{&c.Apparent}
	case m.Quantity == reading.Current:
		return []*reading.Value{&c.Current}
	case m.Quantity == reading.Voltage:
		return []*reading.Value{&c.Voltage}
	case m.Quantity == reading.PowerFactor:
		return []*reading.Value{&c.PowerFactor}
	}
	return nil
}

// exchange gives channels each other's values of one quantity.
func (m Mend) exchange(r *reading.Reading) {
	var was [reading.MaxChannels]reading.Channel
	n := copy(was[:], r.Channels)
	for k := range n {
		from := k
		switch {
		case m.Other == 0:
			from = (k + int(m.Factor)) % n
		case k == m.Channel-1:
			from = m.Other - 1
		case k == m.Other-1:
			from = m.Channel - 1
		}
		old := m.values(&was[from])
		for i, x := range m.values(&r.Channels[k]) {
			*x = *old[i]
		}
	}
}
