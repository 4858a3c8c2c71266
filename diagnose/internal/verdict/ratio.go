package verdict

import (
	"math"
	"math/cmplx"

	"legwork/diagnose/internal/flow"
	"legwork/diagnose/internal/infer"
	"legwork/diagnose/wiring"
)

// A CT of another rating than the meter is set for reads every current wrong by
// one factor. Nothing on its own channel shows that; other evidence does: a
// clamp on the conductor, or a neutral current that was measured by itself.

// CurrentFault is a current that something else contradicts: a clamp on its conductor, or
// the neutral's current, beside which the legs add up wrong because of this channel.
type CurrentFault struct {
	Channel int     // counted from 1
	Reads   float64 // A: of the channel, or what the legs add up to
	Shown   float64 // A: by the clamp, or in the neutral
	Step    float64 // rating of the CT over the one that is set, which would do it; 0 for none
	Neutral bool
	Balance bool    // it is the two other legs that contradict it
	Over    bool    // it is far above the CT's rating, which is Shown
	odds    float64 // of a wrong rating or scale, where it is
}

// asked reports what is only asked about: a load may be why.
func (f *CurrentFault) asked() bool { return f.Balance || f.Over }

// ratioSteps are the factors between neighbouring ratings (10 - 12.5 - 15 - 20 -
// 25 - 30 - 40 - 50 - 60 - 75 and their decades, IEC 61869-2, 5.201).
var ratioSteps = [...]float64{0.25, 1.0 / 3, 0.4, 0.5, 0.6, 2.0 / 3, 0.75, 0.8, 1.25, 4.0 / 3, 1.5, 5.0 / 3, 2, 2.5, 3, 4}

// nearestStep is the step that a factor is near to; ok is false where there is none.
func nearestStep(factor float64) (step float64, ok bool) {
	for _, s := range ratioSteps {
		if math.Abs(factor/s-1) < ratioFit {
			return s, true
		}
	}
	return 0, false
}

// clampApart is how far a clamp and a channel must stand apart, as a logarithm, for the
// ratio to be in question: the errors of both, and as much again for a load that drifted
// between the two readings. Less than the step of two neighbouring ratings; our choice.
const clampApart = 2 * infer.ClampSlack

// currentFaults compares the channels' currents with what else is known of them.
func (j *Judgement) currentFaults() []CurrentFault {
	g := j.Top()
	if g == nil || j.CauseOf(g) == wiring.ByService {
		return nil
	}
	all := j.clampFaults()
	if g.Weight/(1+j.Misread.Odds) >= j.Decide { // it rests on the wiring, and on the map
		all = append(all, j.neutralFault(g)...)
	}
	if over := j.overRated(); len(all) == 0 && over.odds >= leastBalance {
		all = append(all, over)
	}
	return all
}

// clampFaults finds channels that read another current than a clamp on their conductor,
// whichever of the likely arrangements it is.
func (j *Judgement) clampFaults() []CurrentFault {
	var all []CurrentFault
	for _, s := range j.Findings {
		if s.Test != wiring.ClampTest {
			continue
		}
		var off, sum float64
		var first CurrentFault
		for i := range j.Groups {
			g := &j.Groups[i]
			sum += g.Weight
			if d, ok := j.clampFault(g, s); ok {
				if off == 0 {
					first = d
				}
				off += g.Weight
			}
		}
		if off > 0 && off >= mostContradicted*sum {
			all = append(all, first)
		}
	}
	return all
}

// clampFault is what a clamp contradicts under a group.
func (j *Judgement) clampFault(g *infer.Group, s wiring.Finding) (d CurrentFault, ok bool) {
	for k, c := range g.Lead() {
		amps := j.Base().Now[k].Amps
		if int(c.Leg) != s.Leg || amps == 0 || math.Abs(math.Log(amps/s.Amps)) <= clampApart {
			continue
		}
		step, _ := nearestStep(s.Amps / amps)
		return CurrentFault{Channel: k + 1, Reads: amps, Shown: s.Amps, Step: step}, true
	}
	return d, false
}

// neutralFault finds the one channel whose ratio, changed by a standard step,
// makes the legs' currents add up to the neutral's. Harmonics of the third
// order add up in the neutral, so only a neutral current below the sum speaks.
func (j *Judgement) neutralFault(g *infer.Group) []CurrentFault {
	neutral, ok := j.Reading.NeutralCurrent.Get()
	if !ok || g.OnNeutral() || !flow.Complete(g) || g.Service.Kind != wiring.Wye && g.Service.Kind != wiring.SplitPhase {
		return nil
	}
	flows := flow.Flows(g)
	var found []CurrentFault
	for i := range flows {
		if i > 0 && flows[i].Share() < worthAsking {
			continue // of the sequences and signs that remain possible, each must contradict it
		}
		odd, ok := oddRatio(g, flows[i].Currents(), neutral)
		switch {
		case !ok || i > 0 && odd.Channel != found[0].Channel:
			return nil
		case i == 0:
			found = append(found, odd)
		}
	}
	return found
}

// oddRatio finds the one channel whose ratio makes the legs' currents add up to the neutral's.
func oddRatio(g *infer.Group, legs [3]complex128, neutral float64) (found CurrentFault, ok bool) {
	sum := legs[0] + legs[1] + legs[2]
	if cmplx.Abs(sum)-neutral < 0.1*cmplx.Abs(sum)+2 {
		return found, false
	}
	n := 0
	for k, c := range g.Lead() {
		if c.Leg == wiring.NoLeg || c.Leg == wiring.OnNeutral {
			continue
		}
		for _, step := range ratioSteps {
			// |J_a + J_b + J_c + (step - 1) J_m| = I_n by Kirchhoff's current law, if the CT on
			// leg m is rated step times what is set; within 3 % and 0.2 A, our choice.
			if math.Abs(cmplx.Abs(sum+legs[c.Leg-1]*complex(step-1, 0))-neutral) < 0.03*neutral+0.2 {
				found = CurrentFault{Channel: k + 1, Reads: cmplx.Abs(sum), Shown: neutral, Step: step, Neutral: true}
				n++
				break
			}
		}
	}
	return found, n == 1 // else none explains it, or several do
}

// leastBalance is the probability of a wrong ratio, by the legs' balance alone, from which
// on it is spoken of; the same of a rating. Our choice.
const leastBalance = 0.1

// balanceBlamed is a channel that reads a factor of what two legs alike would have it read.
// It is a question, and never a verdict: a load may be the cause.
func (j *Judgement) balanceBlamed() (Blamed, bool) {
	if g := j.Top(); g == nil || j.CauseOf(g) == wiring.ByService || g.InputsMislanded() {
		return Blamed{}, false
	}
	r, ok := j.Base().RatioOf()
	odds := r.Odds * j.Worlds[0].Share
	p := odds / (1 + odds)
	if !ok || p < leastBalance {
		return Blamed{}, false
	}
	amps := j.Base().Observed[r.Channel].Amps
	j.Currents = []CurrentFault{{Channel: r.Channel + 1, Reads: amps, Shown: amps / r.Factor, Step: 1 / r.Factor, Balance: true}}
	return Blamed{Cause: wiring.BySettings, Ratio: &j.Currents[0], P: p}, true
}

// overRated is the current that is highest over the CT's rating, by the meter and by the
// plates, with the odds that a rating or a scale is wrong.
//
// A CT carries its rated primary current for good, or 120, 150 or 200 % of it where it is made
// for that (IEC 61869-2:2012, 5.203); rating factors go up to 4 (IEEE Std C57.13, from memory).
// Beyond, the likelihood of a current x times the rating falls as a Gaussian of ln x does.
func (j *Judgement) overRated() (f CurrentFault) {
	for _, rated := range [...]float64{j.Reading.CTPrimary.Or(0), j.CTPrimary} {
		for k := range j.Reading.Channels {
			if amps := j.Reading.Channels[k].Current.Or(0); rated > 0 && amps > rated && (f.Shown == 0 || amps/rated > f.Reads/f.Shown) {
				f = CurrentFault{Channel: k + 1, Reads: amps, Shown: rated, Over: true}
			}
		}
	}
	if f.Over {
		z := math.Log(f.Reads/f.Shown) / overSpread
		f.odds = overPrior * math.Exp(min(z*z/2, overMost))
	}
	return f
}
