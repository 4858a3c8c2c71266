package trace

import (
	"math"
	"time"

	"legwork/probe/reading"
)

// vector is a quantity of up to three channels.
type vector [reading.MaxChannels]float64

func (v vector) minus(o vector) vector {
	for k := range v {
		v[k] -= o[k]
	}
	return v
}

// size is the largest of the channels, without its sign.
func (v vector) size() float64 {
	most := 0.0
	for _, x := range v {
		most = math.Max(most, math.Abs(x))
	}
	return most
}

// step is a change of a meter's load from one steady level to the next.
type step struct {
	at    time.Time // of the first reading that showed it
	power vector    // W
	off   bool      // a load went away
}

// Thresholds of a change. Our choice: what switches below 60 W isn't followed.
const (
	leastStep  = 60.0  // W
	shareStep  = 0.004 // of the channel's power
	noiseSteps = 6.0   // deviations of what a reading differs from the next by
	mostMoving = 4     // readings after which a change counts, even one that goes on
)

// level is the steady load of one meter.
type level struct {
	known  bool
	power  vector
	amps   vector
	noise  vector // W, mean of what readings differ by
	last   vector // W, of the reading before
	moving int    // readings since the load began to change
	since  time.Time
}

// quantities are what is followed of a reading; ok is false without powers.
func quantities(r *reading.Reading) (power, amps vector, ok bool) {
	ok = len(r.Channels) > 0
	for k := range min(len(r.Channels), len(power)) {
		c := &r.Channels[k]
		p, known := c.Power.Get()
		if !known {
			return power, amps, false
		}
		power[k], amps[k] = p, c.Current.Or(math.Abs(p))
	}
	return power, amps, ok
}

func (l *level) threshold(k int) float64 {
	return math.Max(math.Max(leastStep, shareStep*math.Abs(l.power[k])), noiseSteps*l.noise[k])
}

// changed reports that power is further from a level than noise is.
func (l *level) changed(power, from vector) bool {
	for k := range power {
		if math.Abs(power[k]-from[k]) > l.threshold(k) {
			return true
		}
	}
	return false
}

// add takes a reading, and gives the step that it completes. A change counts
// when the next reading agrees with it: meters average, so that a step may show
// in two parts.
func (l *level) add(r *reading.Reading) (step, bool) {
	power, amps, ok := quantities(r)
	if !ok {
		return step{}, false
	}
	defer func() { l.last = power }()
	if !l.known {
		l.known, l.power, l.amps = true, power, amps
		return step{}, false
	}
	if !l.changed(power, l.power) {
		l.moving = 0
		l.follow(power, amps)
		return step{}, false
	}
	l.moving++
	if l.moving == 1 {
		l.since = r.At
		return step{}, false
	}
	if l.changed(power, l.last) && l.moving < mostMoving {
		return step{}, false
	}
	s := step{at: l.since, power: power.minus(l.power), off: sum(amps) < sum(l.amps)}
	l.power, l.amps, l.moving = power, amps, 0
	return s, true
}

// follow lets the level drift, and learns what readings differ by.
func (l *level) follow(power, amps vector) {
	const share = 0.2
	for k := range power {
		l.noise[k] += 0.1 * (math.Abs(power[k]-l.last[k]) - l.noise[k])
		l.power[k] += share * (power[k] - l.power[k])
		l.amps[k] += share * (amps[k] - l.amps[k])
	}
}

func sum(v vector) float64 { return v[0] + v[1] + v[2] }
