package infer

import (
	"math"
	"math/cmplx"

	"legwork/diagnose/internal/evidence"
	"legwork/diagnose/internal/loadmodel"
	"legwork/diagnose/internal/prior"
)

// What a load that a technician switches on does to the channels. On leg m it
// hangs between that leg and the neutral; on a three-wire delta, which has none,
// between that leg and leg 2, whose conductor then carries it back.

// Takes says which way the CT of channel k sees the load's current: +1 along its
// leg's own direction, -1 against it, 0 not at all.
func (h *Hypothesis) Takes(k, m int) float64 {
	d := h.Digit[k]
	back, shared := h.Frame.ReturnLeg(m)
	sign := 1.0
	if d%2 == 1 {
		sign = -1
	}
	switch {
	case d < 0:
		return 0
	case d >= prior.Neutral: // it carries back what any leg does
		return -sign
	case d/2 == m:
		return sign
	case shared && d/2 == back:
		return -sign
	}
	return 0
}

// PowerRises is the probability that the power of channel k rises with the load,
// which its CT takes (see takes). The load's own angle isn't known, only how
// such angles are spread: theta = phi + (arg V - arg E) + 180 r, and the power
// rises where cos theta is above zero; near 90 degrees (evidence.Plainly) it is told
// as it comes.
func (h *Hypothesis) PowerRises(k, m int) float64 {
	off := cmplx.Phase(h.Frame.Input[k] / h.Frame.LoadVolts(m))
	if h.Takes(k, m) < 0 {
		off += math.Pi
	}
	var up, sum float64
	kinds := h.Frame.Model.Densities(loadmodel.Sort{}).Of(0).Kinds
	for i := range kinds {
		share := float64(kinds[i])
		phi := float64(i) * loadmodel.CellDegrees * math.Pi / 180
		up += share * math.Max(0, math.Min(1, 0.5+math.Cos(phi+off)/(2*evidence.Plainly)))
		sum += share
	}
	return up / sum
}
