package infer

import (
	"math"

	"legwork/diagnose/internal/evidence"
	"legwork/diagnose/internal/loadmodel"
	"legwork/diagnose/internal/prior"
	"legwork/diagnose/wiring"
)

// One channel's ratio.
//
// A CT of another rating than its channel is set for, or a register of another scale, reads
// f I for I at the angle that it has. On a wye with all legs alike but for that factor,
//
//	odds = prior(f) p(K_m / f | others) |K_m / f|^2 / (p(K_m | others) |K_m|^2)
//
// with K and its density as in loadmodel, third.go: of a load that is the same on all legs
// the third leg is known to a part in fifty, so a factor of ten beside two legs that are
// alike in size and angle is hardly a load.

// A Ratio is a factor by which a channel's current may be read wrong.
type Ratio struct {
	Channel int     // from 0
	Factor  float64 // as read over as it is
	Odds    float64 // against all that is weighed without
}

// ratios are the factors with their priors, a channel each. Our choice: slips of a decimal
// place come first.
var ratios = [...]struct{ factor, prior float64 }{
	{10, 1e-3}, {0.1, 1e-3}, {100, 2e-4}, {0.01, 2e-4}, {1000, 1e-4}, {0.001, 1e-4},
	{2, 3e-5}, {0.5, 3e-5}, {4, 3e-5}, {0.25, 3e-5}, {5, 3e-5}, {0.2, 3e-5},
}

// alikeLegs is how much the currents of the two other legs may differ, as a share, for a
// third one to be compared with them; oddLeg how much that must. Our choice.
const (
	alikeLegs = 0.05
	oddLeg    = 1.5
	farthest  = 100 // of the others' squared, beyond which sizes are as likely in every octave
)

// ratioOf is the factor by which c would be like the others; its prior is 0 for none.
func ratioOf(c, others float64) (factor, prior float64) {
	for _, f := range ratios {
		if math.Abs(math.Log(c/f.factor/others)) < 2*alikeLegs {
			return f.factor, f.prior
		}
	}
	return 0, 0
}

// oddOne is the channel whose current differs where the two others' are alike.
func oddOne(observed *[3]evidence.Observation) (k int, ok bool) {
	for k := range observed {
		a, b, c := observed[(k+1)%3].Amps, observed[(k+2)%3].Amps, observed[k].Amps
		if min(a, b) > (1-alikeLegs)*max(a, b) && max(c/a, a/c) > oddLeg {
			return k, true
		}
	}
	return 0, false
}

// RatioOf weighs a wrong ratio of one channel; ok is false where nothing speaks for one.
func (p *Posterior) RatioOf() (r Ratio, ok bool) {
	k, ok := oddOne(&p.Observed)
	if !ok {
		return r, false
	}
	factor, share := ratioOf(p.Observed[k].Amps, p.Observed[(k+1)%3].Amps)
	if share == 0 {
		return r, false
	}
	r = Ratio{Channel: k, Factor: factor}
	for i := range p.Frames {
		sc := NewScene(&p.Frames[i], &p.Observed, p.Sort)
		if a := sc.right(); a != nil && sc.density.Besides() {
			r.Odds += p.Weights[i][a.Number] * share * sc.ratioOdds(a, k, factor)
		}
	}
	return r, r.Odds > 0
}

// right is the arrangement with every CT where it belongs; nil where not all are judged.
func (sc *Scene) right() *prior.Arranged {
	if sc.judged != 7 {
		return nil
	}
	list := sc.model.Lists[sc.judged]
	for i := range list {
		a := &list[i]
		at := 0
		for k, digit := range a.Digit {
			if leg := sc.Frame.Service.HomeLeg(wiring.Channel(k + 1)); digit == 2*(int(leg)-1) {
				at++
			}
		}
		if at == len(a.Digit) && a.Neutral == 0 {
			return a
		}
	}
	return nil
}

// ratioOdds is how much likelier a factor makes the current of channel k.
func (sc *Scene) ratioOdds(a *prior.Arranged, k int, factor float64) (odds float64) {
	var room [2 * mostChoices]legCurrents
	for _, l := range sc.choices(signedReading{a, anySigns}, room[:0]) {
		own := sc.besideOthers(&l, a.Digit[k]/2)
		odds += l.share * own(factor) / own(1)
	}
	return odds
}

// besideOthers is the density of a leg's current divided by a factor, per unit of its
// logarithm and of its angle, beside the others'.
func (sc *Scene) besideOthers(l *legCurrents, leg int) func(factor float64) float64 {
	axis := sc.Axis[leg]
	var at [3]complex128
	for m, j := range l.amps {
		at[sc.Axis[m]] = j * sc.upright[m]
	}
	others := sc.densities.Of(loadmodel.ClassOf(1)).Beside(&at, l.at, axis)
	farthest := farthest * square(at[(axis+1)%3])
	return func(factor float64) float64 {
		z := at[axis] / complex(factor, 0)
		return others.At(z) * min(square(z), farthest) // where the tables end
	}
}
