package asleft

import (
	"math"
	"slices"

	"legwork/diagnose"
	"legwork/diagnose/internal/evidence"
	"legwork/diagnose/internal/frames"
	"legwork/diagnose/internal/infer"
	"legwork/diagnose/internal/loadmodel"
	"legwork/diagnose/internal/prior"
	"legwork/diagnose/wiring"
	"legwork/probe/reading"
)

// How the wiring as left is thought of before it is read: right, as it was found, or
// anything else, by the prior of arrangements and evenly in halves. Our choice, no
// source: the prior of a sound installation would believe any repair.
const (
	priorRight     = 0.5
	priorUnmoved   = 0.1
	priorOtherWay  = 0.15 // of right: by another move than the first one that was advised
	evenShare      = 0.7
	leastElsewhere = 1e-9
)

// bench is one comparison.
type bench struct {
	service wiring.Service
	scenes  []*infer.Scene // one for each sequence that the inputs may show
	found   [3]evidence.Observation
	was     [3]int // digits as found, by channel; -1 where not judged
	twins   [][3]int
	sound   bool // the inputs were, as found
	now     [3]evidence.Observation
	judged  [3]bool
	known   *prior.Model
	legs    [3]load    // as found, by leg; the angle behind its own voltage
	right   [3]float64 // probability that a channel is wired right
	strange [3]float64 // that its load is another one, if it is
}

func newBench(known *prior.Tables, s wiring.Service, before, after *diagnose.Result) *bench {
	b := &bench{service: frames.PlaceHighLeg(channelsOf(after), s)}
	b.known = known.Model(b.service)
	view := evidence.Limits{MinCurrent: diagnose.DefaultMinCurrent}
	for k, c := range channelsOf(before).Channels {
		b.found[k] = view.Observe(c)
	}
	for k, c := range channelsOf(after).Channels {
		b.now[k] = view.Observe(c)
	}
	lead := before.Explanations[0]
	b.was = digitsOf(lead.CT)
	if b.sound = soundInputs(lead); b.sound {
		for _, t := range lead.Twins {
			b.twins = append(b.twins, digitsOf(t))
		}
	}
	for _, q := range s.Sequences() {
		if said := sequenceOf(after); said != "" && said != q.String() {
			continue
		}
		f := &frames.Frame{Service: b.service, Model: b.known, Sequence: q, Leg: b.service.LegPhasors(q),
			Input: b.service.InputPhasors(q), Usable: [3]bool{true, true, true}, Share: 1}
		b.scenes = append(b.scenes, infer.NewScene(f, &b.now, loadmodel.Sort{}))
	}
	for k := range s.Channels() {
		b.judged[k] = b.now[k].Loaded && b.now[k].N > 0 && b.now[k].Volts > 0
	}
	return b
}

// channelsOf is what a result says was read.
func channelsOf(r *diagnose.Result) *reading.Reading {
	out := &reading.Reading{}
	for _, c := range r.Channels[:min(3, len(r.Channels))] {
		out.Channels = append(out.Channels, reading.Channel{Voltage: c.Voltage, Current: c.Current, Power: c.Power,
			Reactive: c.Reactive, Angle: c.Angle, VoltageAngle: c.VoltageAngle})
	}
	return out
}

func sequenceOf(r *diagnose.Result) string {
	if q := r.Likeliest().Sequence; q != nil {
		return *q
	}
	return ""
}

func soundInputs(x diagnose.Explanation) bool {
	return !slices.ContainsFunc(x.Voltage, func(v diagnose.InputJudged) bool {
		return v.State != diagnose.InputLive || v.Severe
	})
}

func digitsOf(all []diagnose.CTPlaced) [3]int {
	d := [3]int{-1, -1, -1}
	for _, c := range all {
		if c.Leg == nil || c.Reversed == nil || c.Channel < 1 || c.Channel > len(d) {
			continue
		}
		d[c.Channel-1] = 2 * (*c.Leg - 1)
		if *c.Reversed {
			d[c.Channel-1]++
		}
	}
	return d
}

// home is the leg where the CT of channel k belongs, both from 0.
func (b *bench) home(k int) int { return int(b.service.HomeLeg(wiring.Channel(k+1))) - 1 }

// predict takes the loads of the legs from what was predicted, and where readings left
// that open from all that they left.
func (b *bench) predict(all []Compared) {
	if b.sound {
		b.legs = b.loadsUnder(b.scenes[0], b.was)
	}
	for _, c := range all {
		k := c.Channel - 1
		amps := math.Abs(c.ExpectCurrent.Or(0))
		if k < 0 || k >= b.service.Channels() || amps <= 0 {
			continue
		}
		offset := b.scenes[0].Offset(k, 2*b.home(k))
		l := load{amps: amps}
		for _, theta := range c.expectedAngles(b.now[k].Volts) {
			l.angles = append(l.angles, angle{theta.phi - offset, theta.share})
		}
		if len(l.angles) > 0 {
			b.legs[b.home(k)] = l
		}
	}
}

// expectedAngles are the angles that a channel should read: the one that was predicted,
// or those that its power leaves.
func (c *Compared) expectedAngles(volts float64) []angle {
	if a, ok := c.ExpectAngle.Get(); ok {
		return []angle{{float64(a), 1}}
	}
	p, ok := c.ExpectPower.Get()
	if !ok || volts <= 0 {
		return nil
	}
	ratio := p / (volts * math.Abs(c.ExpectCurrent.Or(0)))
	a := math.Acos(max(-1, min(1, ratio))) * 180 / math.Pi
	return []angle{{a, 0.5}, {-a, 0.5}}
}

// predicted reports that the load of channel k was.
func (b *bench) predicted(k int) bool { return b.legs[b.home(k)].amps > 0 }
