package evidence

import (
	"math"
	"time"

	"legwork/probe/reading"
)

// What comes and goes from reading to reading. The voltages of a verdict are those of the
// last reading: a fuse, a clip or a lead that makes poor contact may read sound just then.

// Bounds of it. Our choice, no source: the first is that of a low input.
const (
	heldAbove  = 0.8  // of the most that an input read: it holds
	silentAt   = 0.02 // of what a channel carried before: it carries nothing
	staysAbove = 0.5  // of what the others carried: they carry on
	leastDrop  = 1.0  // A, of a channel that carried a current
)

// Contact follows each voltage input beside the others, and each current.
type Contact struct {
	N      int // readings so far
	inputs [3]inputContact
	drops  [3]drop
	before reading.Reading
}

// inputContact is one voltage input so far.
type inputContact struct {
	n     int       // readings that give it
	top   float64   // V: the most
	least float64   // V: the least, while others held
	out   int       // readings in which it was that low
	at    time.Time // of the last of them
	isOut bool      // the last reading is one
}

// Unsteady is a voltage input that read another voltage before, while others held.
type Unsteady struct {
	Input    int // counted from 1
	Volts    float64
	Top      float64   // V: the most that it read
	Readings int       // that it did in
	At       time.Time // of the last of them; zero where the last reading is of the lower sort
}

// Add takes a reading.
func (c *Contact) Add(r *reading.Reading) {
	var volts [3]float64
	known := [3]bool{}
	for k := range min(len(r.Channels), len(volts)) {
		v, ok := r.Channels[k].Voltage.Get()
		volts[k], known[k] = math.Abs(v), ok
	}
	c.rise(&volts, &known)
	held := 0
	for k, in := range c.inputs {
		if known[k] && in.top > 0 && volts[k] >= heldAbove*in.top {
			held++
		}
	}
	for k := range c.inputs {
		if in := &c.inputs[k]; known[k] {
			in.isOut = held > 0 && volts[k] < heldAbove*in.top
			if in.isOut {
				in.low(volts[k], 1, r.At)
			}
			in.n++
		}
	}
	c.follow(r)
	c.N++
	c.before = *r
}

func (in *inputContact) low(volts float64, n int, at time.Time) {
	if in.out == 0 || volts < in.least {
		in.least = volts
	}
	in.out, in.at = in.out+n, at
}

// rise takes new tops. Where one input alone rises, all readings before were low.
func (c *Contact) rise(volts *[3]float64, known *[3]bool) {
	rose, stayed := [3]bool{}, false
	for k, in := range c.inputs {
		if known[k] && in.n > 0 {
			rose[k] = in.top < heldAbove*volts[k]
			stayed = stayed || !rose[k] && volts[k] >= heldAbove*in.top && in.top > 0
		}
	}
	for k := range c.inputs {
		in := &c.inputs[k]
		if rose[k] && stayed {
			was := in.top
			*in = inputContact{n: in.n, top: volts[k]}
			in.low(was, in.n, c.before.At)
		}
		if known[k] {
			in.top = math.Max(in.top, volts[k])
		}
	}
}

// Unsteady lists the inputs that were.
func (c *Contact) Unsteady() (all []Unsteady) {
	for k, in := range c.inputs {
		switch {
		case in.out == 0 || in.out == in.n:
		case in.isOut:
			all = append(all, Unsteady{Input: k + 1, Volts: in.top, Top: in.top, Readings: in.n - in.out})
		default:
			all = append(all, Unsteady{k + 1, in.least, in.top, in.out, in.at})
		}
	}
	return all
}

// drop is a channel's current that falls to nothing and comes back.
type drop struct {
	from  float64 // A, before it fell; 0 while it hasn't
	times int     // that it came back
}

// Drops is how often a channel's current fell to nothing and came back, while its voltage
// stayed and others carried on.
func (c *Contact) Drops(k int) int { return c.drops[k].times }

// follow looks for such a fall, and its end.
func (c *Contact) follow(r *reading.Reading) {
	for k := range min(len(r.Channels), len(c.before.Channels), len(c.drops)) {
		d := &c.drops[k]
		was, is := c.before.Channels[k].Current.Or(math.NaN()), r.Channels[k].Current.Or(math.NaN())
		switch {
		case d.from == 0:
			if was >= leastDrop && is < silentAt*was && r.Channels[k].Voltage.Or(0) > 0 && c.othersCarry(r, k) {
				d.from = was
			}
		case is >= silentAt*d.from:
			d.from = 0
			d.times++
		}
	}
}

// othersCarry reports that another channel carries current, as before, and none fell with
// this one.
func (c *Contact) othersCarry(r *reading.Reading, but int) bool {
	carry := false
	for k := range min(len(r.Channels), len(c.before.Channels)) {
		was, is := c.before.Channels[k].Current.Or(0), r.Channels[k].Current.Or(0)
		if k == but || was < leastDrop {
			continue
		}
		if is < staysAbove*was {
			return false
		}
		carry = true
	}
	return carry
}
