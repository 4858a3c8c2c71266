package trace

import (
	"math"
	"time"

	"legwork/probe/reading"
)

// Circuit is a circuit that was switched off and on again.
type Circuit struct {
	At          time.Time `json:"at"` // when it came back
	Meter       string    `json:"meter"`
	Channel     int       `json:"channel"` // that changed most
	Power       float64   `json:"power"`   // W, change of the channel as it went off
	Probability float64   `json:"probability"`

	Channels []Change `json:"channels"` // all that changed
	Off      float64  `json:"off_seconds"`
	Before   float64  `json:"seen_before"` // how often the like did so by itself on this meter before
}

// Change is what one channel did as the circuit went off.
type Change struct {
	Channel int     `json:"channel"`
	Power   float64 `json:"power"`
}

// Tracer follows all meters. It is for one goroutine.
type Tracer struct {
	meters map[string]*history
	asked  float64 // s
	first  time.Time
	last   time.Time
	novel  float64 // offs and returns of sizes that their meters hadn't shown before, by themselves
}

// Sure is the probability from which on a circuit is told. Our choice.
const Sure = 0.5

// DefaultOff is how long a breaker is asked to be off.
const DefaultOff = 10 * time.Second

// New makes a tracer that has seen nothing. off is how long people were asked to
// leave a breaker off; 0 is DefaultOff.
func New(off time.Duration) *Tracer {
	if off <= 0 {
		off = DefaultOff
	}
	return &Tracer{meters: map[string]*history{}, asked: off.Seconds()}
}

// Add takes a reading of a meter, in order of its time, and gives the circuit
// that it shows to have come back.
func (t *Tracer) Add(meter string, r *reading.Reading) (Circuit, bool) {
	if t.first.IsZero() {
		t.first = r.At
	}
	t.forget(r.At)
	h := t.meters[meter]
	if h == nil {
		h = &history{}
		t.meters[meter] = h
	}
	s, ok := h.level.add(r)
	switch {
	case !ok:
		return Circuit{}, false
	case s.off:
		h.keep(s)
		return Circuit{}, false
	}
	off, found := h.back(s, t.asked)
	if !found {
		return Circuit{}, false
	}
	c := circuitOf(meter, off, s)
	b, gone := h.habit(off.power), s.at.Sub(off.at)
	c.Before, c.Probability = b.times, t.probability(b, gone)
	t.count(b, gone, c.Probability)
	return c, true
}

// What a person does: a breaker a minute, off for about as long as was asked;
// now and then for longer. What loads do by themselves: for as long as the last
// times, or any time from seconds to an hour, each octave as likely. Our choice.
const (
	circuitsAMinute = 1.0
	inTime          = 0.7  // share of breakers that are off as long as was asked
	timeSpread      = 0.2  // of that, deviation from it
	longOff         = 60.0 // s, mean of the others
	asBefore        = 0.8  // share of a load's own times that are like its last ones
	ownSpread       = 0.35 // deviation of their logarithm
	forgetting      = 600  // s in which what is new on meters is forgotten
)

// probability weighs a person at the breaker against a load of the meter's own.
// A size that was seen on the meter n times in the time watched may come again
// at that rate; one that is new there comes at the rate at which new ones come
// on any meter (Good-Turing: what is unseen is as frequent as what was seen once).
func (t *Tracer) probability(b *habit, off time.Duration) float64 {
	watched := math.Max(t.last.Sub(t.first).Seconds(), 1)
	n := float64(len(t.meters))
	d := math.Max(off.Seconds(), shortest*t.asked)
	asked := inTime * bell((d/t.asked-1)/timeSpread) / (timeSpread * t.asked)
	person := circuitsAMinute / 60 / n * (asked + (1-inTime)*math.Exp(-d/longOff)/longOff)
	own := (t.novel + 0.5) / n / (math.Min(watched, forgetting) + 60)
	if b.times > 0 {
		own = math.Max(own, b.times/watched)
	}
	alone := own * b.density(d)
	return person / (person + alone)
}

// density of a load's own time off, per s.
func (b *habit) density(d float64) float64 {
	any := 1 / (d * math.Log(3600))
	if b.times < 1 {
		return any
	}
	return asBefore*bell((math.Log(d)-b.logOff)/ownSpread)/(ownSpread*d) + (1-asBefore)*any
}

// bell is the density of the normal distribution.
func bell(z float64) float64 { return math.Exp(-z*z/2) / math.Sqrt(2*math.Pi) }

// count notes a load that went off and came back, as far as it wasn't a person.
func (t *Tracer) count(b *habit, off time.Duration, probability float64) {
	alone := 1 - probability
	if b.times == 0 {
		t.novel += alone
	}
	b.times += alone
	b.logOff += alone / b.times * (math.Log(math.Max(off.Seconds(), 1)) - b.logOff)
}

// forget lets what was new fade as time goes by.
func (t *Tracer) forget(now time.Time) {
	if now.After(t.last) {
		if !t.last.IsZero() {
			t.novel *= math.Exp(-now.Sub(t.last).Seconds() / forgetting)
		}
		t.last = now
	}
}

func circuitOf(meter string, off, on step) Circuit {
	c := Circuit{At: on.at, Meter: meter, Off: on.at.Sub(off.at).Seconds(), Channels: []Change{}}
	most := off.power.size()
	for k, w := range off.power {
		if math.Abs(w) == most {
			c.Channel, c.Power = k+1, w
		}
		if math.Abs(w) > matchShare*most+matchWatts {
			c.Channels = append(c.Channels, Change{k + 1, w})
		}
	}
	return c
}
