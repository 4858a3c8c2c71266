package evidence

import (
	"math"
	"time"

	"legwork/probe/reading"
)

// The growth of energy against power over time, the only tie that holds power and current
// together against something else, and the only one that tells which way power is counted
// where no angle does:
//
//	E(t) - E(0) = integral of max(P, 0) dt for import, of max(-P, 0) for export

// Bounds of it. Our choice, no source.
const (
	longestGap  = time.Hour // between two readings, for the power between them to be known
	leastSteps  = 20.0      // of the least step that a register was seen to take, that it must have grown by
	oneWay      = 0.02      // of the energy one way, what may have flowed the other way
	leastMisfit = 0.4       // of the logarithm of grown over due, beyond which a scale is wrong
	misfitTimes = 4.0       // the same in spreads
	dueSpread   = 0.05      // of the same logarithm: errors of the meter
	drawnSpread = 0.5       // of it, of one interval between two readings: what the load did there

	// Log likelihoods of a register that counts the other way, with a right map.
	countsBack = -9.0 // what is forward as export
	countsSize = -1.6 // what is back as import, on a meter that counts sizes: one in five
	countsBoth = -4.6 // the same where there is an export register, which stays
)

// Counters follows energy registers.
type Counters struct {
	before    time.Time
	intervals int
	watts     [4]float64 // of the channels and all together; NaN where one isn't known
	due       [4]flows   // Wh
	registers [4][2]counter
}

type flows struct{ forward, back float64 }

// counter is one register: import or export.
type counter struct {
	first, last, step float64 // Wh
	known             bool
}

func (c *counter) grown() float64 { return c.last - c.first }

// grows reports growth that is more than its steps may make.
func (c *counter) grows() bool { return c.known && c.grown() >= leastSteps*c.step }

// Add takes a reading as it came.
func (c *Counters) Add(r *reading.Reading) {
	gap := r.At.Sub(c.before)
	if c.before.IsZero() || gap <= 0 || gap > longestGap || !c.counts(r) {
		*c = Counters{}
		c.counts(r)
	} else {
		c.intervals++
	}
	now := powers(r)
	if c.intervals > 0 {
		for i, w := range now {
			c.due[i].forward += (max(w, 0) + max(c.watts[i], 0)) / 2 * gap.Hours()
			c.due[i].back += (max(-w, 0) + max(-c.watts[i], 0)) / 2 * gap.Hours()
		}
	}
	c.watts, c.before = now, r.At
}

// powers are those of the channels, and of all together.
func powers(r *reading.Reading) (all [4]float64) {
	sum := 0.0
	for k := range 3 {
		all[k] = math.NaN()
		if k < len(r.Channels) {
			all[k] = r.Channels[k].Power.Or(math.NaN())
			sum += all[k]
		}
	}
	all[3] = sum
	return all
}

// counts takes the registers; it reports that none went back or is gone.
func (c *Counters) counts(r *reading.Reading) bool {
	whole := true
	take := func(at *counter, v reading.Value) {
		x, ok := v.Get()
		switch {
		case !ok || math.IsInf(x, 0):
			whole = whole && !at.known
		case !at.known:
			*at = counter{x, x, math.Inf(1), true}
			whole = whole && c.intervals == 0
		default:
			whole = whole && x >= at.last
			if x > at.last {
				at.step = min(at.step, x-at.last)
			}
			at.last = x
		}
	}
	for k := range min(len(r.Channels), 3) {
		take(&c.registers[k][0], r.Channels[k].EnergyImport)
		take(&c.registers[k][1], r.Channels[k].EnergyExport)
	}
	take(&c.registers[3][0], r.TotalEnergyImport)
	take(&c.registers[3][1], r.TotalEnergyExport)
	return whole
}

// Misfits lists registers that grew by something else than the power made, the total first.
func (c *Counters) Misfits() (all []Fault) {
	for _, i := range [...]int{3, 0, 1, 2} {
		due, way := c.oneWay(i)
		if i == 3 && !c.allWay(way) {
			continue // whether the total takes from forward what flows back, or leaves it out, isn't known
		}
		for d, q := range [...][2]reading.Quantity{{reading.EnergyImport, reading.TotalEnergyImport}, {reading.EnergyExport, reading.TotalEnergyExport}} {
			reg := &c.registers[i][d]
			if way == 0 || !reg.grows() {
				continue
			}
			off := math.Log(reg.grown() / due)
			spread := math.Hypot(dueSpread+reg.step/reg.grown(), drawnSpread/math.Sqrt(float64(c.intervals)))
			if math.Abs(off) < max(leastMisfit, misfitTimes*spread) {
				continue
			}
			f := Fault{Point: pointOf(q[0], i), Kind: EnergyMisfit, Value: reg.grown(), Watts: due}
			if i == 3 {
				f.Point = reading.Point{Quantity: q[1]}
			}
			if tens := math.Round(-off / math.Ln10); tens != 0 && math.Abs(off+tens*math.Ln10) < max(leastMisfit, misfitTimes*spread) {
				f.Decade = tens
			}
			all = append(all, f)
		}
	}
	return all
}

// oneWay is the energy due, Wh, and its way where all flowed one way: 1 forward, -1 back, 0
// for neither.
func (c *Counters) oneWay(i int) (due float64, way int) {
	f := c.due[i]
	switch {
	case f.forward > 0 && f.back <= oneWay*f.forward:
		return f.forward, 1
	case f.back > 0 && f.forward <= oneWay*f.back:
		return f.back, -1
	}
	return 0, 0
}

// allWay reports that no channel flows another way.
func (c *Counters) allWay(way int) bool {
	for k := range 3 {
		if _, one := c.oneWay(k); !math.IsNaN(c.watts[k]) && one != way {
			return false
		}
	}
	return true
}

// Against is the log likelihood of the way in which energy is counted if the map has the
// power's sign right; 0 where nothing speaks against it.
func (c *Counters) Against() (log float64) {
	_, way := c.oneWay(3)
	if !c.allWay(way) {
		return 0
	}
	for i := range c.registers {
		into, out := &c.registers[i][0], &c.registers[i][1]
		switch {
		case way > 0 && out.grows() && !(into.known && into.grown() > oneWay*out.grown()):
			log = min(log, countsBack)
		case way < 0 && into.grows() && out.known && out.grown() <= oneWay*into.grown():
			log = min(log, countsBoth)
		case way < 0 && into.grows() && !out.known:
			log = min(log, countsSize)
		}
	}
	return log
}
