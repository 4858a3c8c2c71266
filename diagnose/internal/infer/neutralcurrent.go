package infer

import (
	"math"
	"math/cmplx"

	"legwork/diagnose/internal/gaussian"
	"legwork/diagnose/internal/prior"
	"legwork/diagnose/wiring"
)

// What a register of the neutral's current says.
//
// A meter with a CT of its own there measures what flows, by Kirchhoff's current law the
// sum of the legs' currents; others compute it, as the sum of what their channels read.
// Which of both it is isn't known. With I_k what channel k reads, J_m the legs' currents
// under an arrangement, and f the density of N about a fundamental sum with harmonics,
//
//	p(N | arrangement) = m f(N; sum of J_m) + c f(N; sum of I_k) + r / sum of |I_k|
//
// What is computed says the same of every arrangement; the last term is a register that
// holds something else, or a CT of its own on another ratio. Where a channel's CT is on the
// neutral, what is measured is that channel's own current.

// WeighNeutral multiplies the posterior by what the neutral's current says, A rms.
func (p *Posterior) WeighNeutral(amps float64) {
	if amps <= 0 { // a register that nothing is connected to
		return
	}
	var sum float64
	for f := range p.Frames {
		p.weighNeutralUnder(f, amps)
		for _, w := range p.Weights[f] {
			sum += w
		}
	}
	p.scale(sum)
}

func (p *Posterior) weighNeutralUnder(f int, amps float64) {
	var sc *Scene
	var n neutralRegister
	for number, w := range p.Weights[f] {
		if w < leastNeutralWeighed {
			continue
		}
		if sc == nil {
			sc = NewScene(&p.Frames[f], &p.Now, p.Sort)
			if n = sc.neutralRegister(amps); n.sum == 0 {
				return
			}
		}
		a := prior.NewArranged(number, sc.judged, sc.Frame.Service.Legs(), [2]float64{})
		p.Weights[f][number] *= n.likelihood(&a)
	}
}

// neutralRegister is what one frame makes of the neutral's current.
type neutralRegister struct {
	sc        *Scene
	amps      float64
	sum       float64 // A, of the channels' sizes; 0 where the register says nothing
	slack     float64 // A, one standard deviation
	harmonics float64 // A, that may add up at most
}

// neutralRegister says nothing where a phasor isn't known, or where no neutral is.
func (sc *Scene) neutralRegister(amps float64) (n neutralRegister) {
	s := &sc.Frame.Service
	if s.Kind == wiring.Delta || s.Channels() < 2 {
		return n
	}
	var sum, idle, squares float64
	for k := range s.Channels() {
		o := &sc.Observed[k]
		switch h, known := o.Harmonics(); {
		case sc.judged>>k&1 == 1 && sc.Frame.State[k] == wiring.InputLive:
			sum += o.Amps
			squares += o.Amps * o.Amps
			if known {
				n.harmonics += h
			}
		case o.AmpsKnown && !o.Loaded:
			idle += o.Amps
		default:
			return n
		}
	}
	if amps > sum+idle {
		return n
	}
	n.sc, n.amps, n.sum = sc, amps, sum
	n.slack = math.Hypot(neutralSlack*math.Sqrt(squares), leastNeutralSlack) + idle/2
	return n
}

// likelihood is that of the register under an arrangement, against one that holds anything.
func (n *neutralRegister) likelihood(a *prior.Arranged) float64 {
	var weight, likely float64
	n.spread(0, a, neutralSums{share: 1, at: [3]int{-1, -1, -1}}, func(s *neutralSums) {
		share := s.share * n.sc.density.At(s.at)
		weight += share
		likely += share * (neutralMeasured*n.measured(a, s.legs) + neutralComputed*n.about(s.read))
	})
	if weight == 0 {
		return 1
	}
	return 1 - neutralMeasured - neutralComputed + likely/weight*n.sum
}

// measured is the density of what flows in the neutral; of a leg without a CT nothing is known.
func (n *neutralRegister) measured(a *prior.Arranged, legs complex128) float64 {
	switch {
	case a.Neutral > 0:
		return gaussian.Line(n.amps-n.sc.Observed[a.Neutral-1].Amps, n.slack)
	case a.Same[1] != 0:
		return 1 / n.sum
	}
	return n.about(legs)
}

// about is the density of the register where the fundamentals add up to a sum: harmonics
// of the legs add up with them to anything from none to all,
//
//	N^2 = F^2 + H^2
func (n *neutralRegister) about(sum complex128) (p float64) {
	const parts = 4
	size := cmplx.Abs(sum)
	p = gaussian.Line(n.amps-size, n.slack)
	if n.harmonics <= n.slack {
		return p
	}
	var all float64
	last := size
	for i := 1; i <= parts; i++ {
		next := math.Hypot(size, n.harmonics*float64(i)/parts)
		all += gaussian.Line(n.amps-(last+next)/2, math.Hypot(n.slack, (next-last)/2)) / parts
		last = next
	}
	return (p + all) / 2
}

// neutralSums are the sums for one choice of the channels' candidates.
type neutralSums struct {
	share      float64
	read, legs complex128 // A, as the channels read and as the legs carry
	at         [3]int     // cells of the load angles, by canonical axis
}

// spread goes through the candidates of channel k and those after it.
func (n *neutralRegister) spread(k int, a *prior.Arranged, s neutralSums, each func(*neutralSums)) {
	for k < 3 && a.Digit[k] < 0 {
		k++
	}
	if k == 3 {
		each(&s)
		return
	}
	digit := a.Digit[k]
	for i, c := range n.sc.Observed[k].List() {
		next := s
		next.share *= c.Share
		next.read += n.sc.reads[k][i]
		if k != a.Neutral-1 {
			next.at[n.sc.Axis[digit/2]] = n.sc.cellOf(k, digit, c)
			next.legs += n.sc.turned(k, digit, i)
		}
		n.spread(k+1, a, next, each)
	}
}
