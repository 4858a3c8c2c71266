package infer

import (
	"math"
	"math/cmplx"

	"legwork/diagnose/internal/evidence"
	"legwork/diagnose/internal/prior"
)

// changes weighs the changes of one history under one frame.
type changes struct {
	scene  *Scene
	kinds  []float32 // density of a single load's own angle, per cell
	three  []float32
	turn   [3]complex128    // phasor of each leg's voltage, of size 1
	star   [3]complex128    // phasor from the star point to each leg, of size 1
	turned [3][3]complex128 // from one leg's to another's, of what is alike on all
	line   [3][3]complex128 // phasor from leg to leg, of size 1

	// place turns a channel's phasor at a digit into the leg's own, absolute.
	place [3][prior.Digits]complex128

	// seen is the change at hand, for loads that drifted and for calm ones: of each
	// channel, for its signs before and after, at each digit.
	seen [2][3][4][prior.Digits]legChange
}

// noises are how many times as much as usual what stays is uncertain: where the loads that
// stay on drifted from one look to the next, and where they were calm.
var noises = [2]float64{1, calmNoise}

func newChanges(sc *Scene) *changes {
	w := &changes{scene: sc, kinds: sc.density.Kinds, three: sc.density.Three}
	e := sc.Frame.Leg
	legs := sc.Frame.Service.Legs()
	var middle complex128
	for m := range legs {
		middle += e[m] / complex(float64(legs), 0)
	}
	unit := func(z complex128) complex128 {
		if z == 0 {
			return 1
		}
		return z / complex(cmplx.Abs(z), 0)
	}
	for m := range legs {
		w.turn[m], w.star[m] = unit(e[m]), unit(e[m]-middle)
		for n := range legs {
			w.line[m][n] = unit(e[m] - e[n])
		}
	}
	for m := range legs {
		for n := range legs {
			w.turned[m][n] = w.star[n] / w.star[m]
		}
	}
	for k := range 3 {
		if sc.judged>>k&1 == 0 {
			continue
		}
		for d := range 2 * legs {
			w.place[k][d] = cmplx.Rect(1, sc.Offset(k, d)*math.Pi/180) * w.turn[d/2]
		}
		own := unit(sc.Frame.Input[k])
		w.place[k][prior.Neutral], w.place[k][prior.Neutral+1] = -own, own // it carries the legs' sum back
	}
	return w
}

// see fills in the change from one state to the next.
func (w *changes) see(from, to *evidence.State, open bool) {
	legs := w.scene.Frame.Service.Legs()
	for level, times := range noises {
		if level > 0 && open { // the blur of open signs outweighs either
			return
		}
		for k := range 3 {
			if w.scene.judged>>k&1 == 0 {
				continue
			}
			for signs := range 4 {
				if signs > 0 && !open {
					break
				}
				c := channelChange(from, to, k, signs&1, signs>>1, times)
				for d := range 2 * legs {
					w.seen[level][k][signs][d] = w.onLeg(c, w.place[k][d], d/2)
				}
				for d := prior.Neutral; d < prior.Digits; d++ {
					back := c
					back.amps, back.was = c.amps*w.place[k][d], c.was*w.place[k][d]
					w.seen[level][k][signs][d] = back
				}
			}
		}
	}
}
