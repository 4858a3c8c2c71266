package frames

import (
	"math"

	"legwork/diagnose/internal/prior"
	"legwork/diagnose/wiring"
	"legwork/probe/reading"
)

// Frame is one way in which the voltage inputs may sit on the legs: where
// every leg's voltage lies and what each input reads, all from leg 1's own
// phasor of the service.
type Frame struct {
	Service  wiring.Service
	Model    *prior.Model
	Sequence wiring.Sequence
	Leg      [3]complex128 // per unit of nominal
	Input    [3]complex128 // per unit; as it should read under this frame
	Usable   [3]bool       // the input gives its channel an angle to stand on
	State    [3]wiring.InputState
	Severe   [3]bool // so far off, beyond what the frame explains, that it is a fault by itself
	Share    float64

	Unmeasured bool // the voltages' angles that are read are none: a register that is always the same
}

// Of lists the frames that a reading leaves possible for one service,
// their shares not yet weighed with any arrangement.
func Of(r *reading.Reading, s wiring.Service, t *prior.Tables) []Frame {
	m := t.Model(s)
	v := voltagesOf(r, s)
	all := make([]Frame, 0, 2*mostFrames) // of two sequences
	for _, q := range s.Sequences() {
		plain := plainFrame(s, q)
		all = append(all, plain)
		all = sharedFrames(all, plain, &v)
		all = neutralFrames(all, plain, &v)
		all = unmeasuredFrame(all, plain, &v)
	}
	var best float64
	for i := range all {
		all[i].Share *= v.fit(&all[i])
		best = math.Max(best, all[i].Share)
	}
	kept := all[:0]
	for _, f := range all {
		if f.Share > best*1e-5 {
			f.Model = m
			v.grade(&f)
			kept = append(kept, f)
		}
	}
	return kept
}

// EvenShares makes the best frame's share one: where none fits the voltages well,
// the best of them still stands.
func EvenShares(frames []Frame) {
	var best float64
	for i := range frames {
		best = math.Max(best, frames[i].Share)
	}
	for i := range frames {
		if best > 0 {
			frames[i].Share /= best
		}
	}
}

func plainFrame(s wiring.Service, q wiring.Sequence) Frame {
	return Frame{Service: s, Sequence: q, Leg: s.LegPhasors(q), Input: s.InputPhasors(q), Share: 1}
}

// sharedFrames adds frames that have the input of a higher channel on a lower one's leg, and
// one with all three on the first's.
func sharedFrames(all []Frame, plain Frame, v *voltages) []Frame {
	if plain.Service.Kind == wiring.Delta {
		return all
	}
	for i := range v.n {
		for j := i + 1; j < v.n; j++ {
			if v.dead(i) || v.dead(j) {
				continue
			}
			f := plain
			f.Input[j] = f.Input[i]
			f.State[j] = wiring.InputShared
			f.Share = prior.PriorShareInput
			all = append(all, f)
		}
	}
	if v.n == 3 && !v.dead(0) && !v.dead(1) && !v.dead(2) {
		f := plain
		f.Share = prior.PriorShareInput / 2
		for j := 1; j < v.n; j++ {
			f.Input[j], f.State[j] = f.Input[0], wiring.InputShared
		}
		all = append(all, f)
	}
	return all
}

// shareUnmeasured is that of meters, among those that read no angle between their voltages,
// which measure none: our choice, no source.
const shareUnmeasured = 0.03

// unmeasuredFrame adds the plain frame with angles that say nothing, where all are alike.
func unmeasuredFrame(all []Frame, plain Frame, v *voltages) []Frame {
	if v.anglesAlike() {
		plain.Unmeasured, plain.Share = true, shareUnmeasured
		all = append(all, plain)
	}
	return all
}

// neutralFrames adds frames that have the meter's neutral exchanged with one leg: that leg's
// input reads the neutral, and every other one reads from leg to leg.
func neutralFrames(all []Frame, plain Frame, v *voltages) []Frame {
	if plain.Service.Kind == wiring.Delta || plain.Service.Kind == wiring.TwoWire {
		return all
	}
	for m := range v.n {
		f := plain
		for k := range v.n {
			f.Input[k] = plain.Leg[k] - plain.Leg[m]
		}
		f.Input[m] = -plain.Leg[m]
		f.State[m] = wiring.InputNeutralCrossed
		f.Share = prior.PriorNeutral
		all = append(all, f)
	}
	return all
}
