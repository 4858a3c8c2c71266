package diagnose

import (
	"math"

	"legwork/diagnose/wiring"
	"legwork/probe/reading"
)

// frame is one way in which the voltage inputs may sit on the legs: where
// every leg's voltage lies and what each input reads, all from leg 1's own
// phasor of the service.
type frame struct {
	service  wiring.Service
	sequence wiring.Sequence
	leg      [3]complex128 // per unit of nominal
	input    [3]complex128 // per unit; as it should read under this frame
	usable   [3]bool       // the input gives its channel an angle to stand on
	state    [3]InputState
	severe   [3]bool // so far off, beyond what the frame explains, that it is a fault by itself
	share    float64
}

// framesOf lists the frames that a reading leaves possible for one service,
// their shares not yet weighed with any arrangement.
func framesOf(r *reading.Reading, s wiring.Service) []frame {
	v := voltagesOf(r, s)
	all := make([]frame, 0, 14) // two sequences, plain, three shared, three neutral
	for _, q := range s.Sequences() {
		plain := plainFrame(s, q)
		all = append(all, plain)
		all = sharedFrames(all, plain, &v)
		all = neutralFrames(all, plain, &v)
	}
	var best float64
	for i := range all {
		all[i].share *= v.fit(&all[i])
		best = math.Max(best, all[i].share)
	}
	kept := all[:0]
	for _, f := range all {
		if f.share > best*1e-5 {
			v.grade(&f)
			kept = append(kept, f)
		}
	}
	return kept
}

// evenShares makes the best frame's share one: where none fits the voltages well,
// the best of them still stands.
func evenShares(frames []frame) {
	var best float64
	for i := range frames {
		best = math.Max(best, frames[i].share)
	}
	for i := range frames {
		if best > 0 {
			frames[i].share /= best
		}
	}
}

func plainFrame(s wiring.Service, q wiring.Sequence) frame {
	return frame{service: s, sequence: q, leg: s.LegPhasors(q), input: s.InputPhasors(q), share: 1}
}

// sharedFrames adds frames that have the input of a higher channel on a lower one's leg.
func sharedFrames(all []frame, plain frame, v *voltages) []frame {
	if plain.service.Kind == wiring.Delta {
		return all
	}
	for i := range v.n {
		for j := i + 1; j < v.n; j++ {
			if v.dead(i) || v.dead(j) {
				continue
			}
			f := plain
			f.input[j] = f.input[i]
			f.state[j] = InputShared
			f.share = priorShareInput
			all = append(all, f)
		}
	}
	return all
}

// neutralFrames adds frames that have the meter's neutral exchanged with one leg: that leg's
// input reads the neutral, and every other one reads from leg to leg.
func neutralFrames(all []frame, plain frame, v *voltages) []frame {
	if plain.service.Kind == wiring.Delta || plain.service.Kind == wiring.TwoWire {
		return all
	}
	for m := range v.n {
		f := plain
		for k := range v.n {
			f.input[k] = plain.leg[k] - plain.leg[m]
		}
		f.input[m] = -plain.leg[m]
		f.state[m] = InputNeutralCrossed
		f.share = priorNeutral
		all = append(all, f)
	}
	return all
}
