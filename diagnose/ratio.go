package diagnose

import (
	"fmt"
	"math"
	"math/cmplx"

	"legwork/diagnose/internal/flow"
	"legwork/diagnose/internal/infer"
	"legwork/diagnose/wiring"
)

// A CT of another rating than the meter is set for reads every current wrong by
// one factor. Nothing on its own channel shows that; other evidence does: a
// clamp on the conductor, or a neutral current that was measured by itself.

// ratioSteps are the factors between neighbouring ratings (10 - 12.5 - 15 - 20 -
// 25 - 30 - 40 - 50 - 60 - 75 and their decades, IEC 61869-2, 5.201).
var ratioSteps = [...]float64{0.25, 1.0 / 3, 0.4, 0.5, 0.6, 2.0 / 3, 0.75, 0.8, 1.25, 4.0 / 3, 1.5, 5.0 / 3, 2, 2.5, 3, 4}

// ratioFit is how near, as a share, a factor must come to a step.
const ratioFit = 0.04

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

// mostContradicted is the probability, of the arrangements under which a clamp contradicts
// a channel, from which on it does. Our choice.
const mostContradicted = 0.5

// currentFaults compares the channels' currents with what else is known of them.
func (j *judgement) currentFaults() []DataFault {
	g := j.top()
	if g == nil || j.causeOf(g) == CauseService {
		return nil
	}
	all := j.clampFaults()
	if g.Weight < j.options.decide() {
		return all
	}
	return append(all, j.neutralFault(g)...)
}

// clampFaults finds channels that read another current than a clamp on their conductor,
// whichever of the likely arrangements it is.
func (j *judgement) clampFaults() []DataFault {
	var all []DataFault
	for _, s := range j.options.Findings {
		if s.Test != wiring.ClampTest {
			continue
		}
		var off, sum float64
		var first DataFault
		for i := range j.groups {
			g := &j.groups[i]
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
func (j *judgement) clampFault(g *infer.Group, s Finding) (d DataFault, ok bool) {
	for k, c := range g.Lead() {
		amps := j.base().Now[k].Amps
		if int(c.Leg) != s.Leg || amps == 0 || math.Abs(math.Log(amps/s.Amps)) <= clampApart {
			continue
		}
		mend := "check that the core is closed, and that it is round all of the conductor and round nothing else"
		if step, ok := nearestStep(s.Amps / amps); ok {
			mend = fmt.Sprintf("a CT rated %.3g times what the meter is set for would do it, or one round a part "+
				"of parallel conductors; else %s", step, mend)
		}
		return DataFault{fmt.Sprintf("current.%d", k+1), fmt.Sprintf("reads %.4g A where a clamp shows %.4g A", amps,
			s.Amps), mend, false}, true
	}
	return d, false
}

// neutralFault finds the one channel whose ratio, changed by a standard step,
// makes the legs' currents add up to the neutral's. Harmonics of the third
// order add up in the neutral, so only a neutral current below the sum speaks.
func (j *judgement) neutralFault(g *infer.Group) []DataFault {
	neutral, ok := j.reading.NeutralCurrent.Get()
	if !ok || g.OnNeutral() || !flow.Complete(g) || g.Service.Kind != wiring.Wye && g.Service.Kind != wiring.SplitPhase {
		return nil
	}
	flows := flow.Flows(g)
	var found []DataFault
	for i := range flows {
		if i > 0 && flows[i].Share() < worthAsking {
			continue // of the sequences and signs that remain possible, each must contradict it
		}
		odd, ok := oddRatio(g, flows[i].Currents(), neutral)
		switch {
		case !ok || i > 0 && odd.Point != found[0].Point:
			return nil
		case i == 0:
			found = append(found, odd)
		}
	}
	return found
}

// worthAsking is the share of a choice of candidates that must agree: our choice.
const worthAsking = 0.02

// oddRatio finds the one channel whose ratio makes the legs' currents add up to the neutral's.
func oddRatio(g *infer.Group, legs [3]complex128, neutral float64) (found DataFault, ok bool) {
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
			if math.Abs(cmplx.Abs(sum+legs[c.Leg-1]*complex(step-1, 0))-neutral) < 0.03*neutral+0.2 {
				found = DataFault{fmt.Sprintf("current.%d", k+1),
					fmt.Sprintf("the neutral carries %.4g A, and the legs add up to %.4g A", neutral, cmplx.Abs(sum)),
					fmt.Sprintf("a CT rated %.3g times what the meter is set for would do it; compare with a clamp", step), true}
				n++
				break
			}
		}
	}
	return found, n == 1 // else none explains it, or several do
}
