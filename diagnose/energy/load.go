package energy

import (
	"fmt"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"legwork/diagnose/wiring"
	"legwork/probe/reading"
)

// Load is the range of loads that an estimate is to hold for.
type Load struct {
	Lag       [2]float64 // degrees by which the legs' currents lag, from and to; negative leads
	Unbalance float64    // each leg's current lies within this share of the mean
	Sequence  wiring.Sequence
}

var pfForm = regexp.MustCompile(`^(0?\.[0-9]+|1(?:\.0*)?|0)(?: ?(lag|lead)(?:s|ging|ing)?)?$`)

// ParsePowerFactor reads a range of power factors: "0.9", "0.8..0.95",
// "0.95 lead..0.8 lag". It lags where neither is said. It gives the angles, the
// smaller first.
func ParsePowerFactor(text string) ([2]float64, error) {
	plain := strings.ToLower(strings.ReplaceAll(strings.Join(strings.Fields(text), " "), ",", "."))
	first, second, two := strings.Cut(plain, "..")
	if !two {
		second = first
	}
	if strings.Contains(plain, "...") {
		second = "" // 0.9...1 may mean 1 or 0.1
	}
	var lag [2]float64
	for i, part := range []string{first, second} {
		m := pfForm.FindStringSubmatch(strings.TrimSpace(part))
		if m == nil {
			return lag, fmt.Errorf("%q is not a power factor; say 0.9, 0.8..0.95 or 0.95 lead..0.8 lag", text)
		}
		pf, _ := strconv.ParseFloat(m[1], 64) // the pattern lets nothing else through
		if pf < 0.05 {
			return lag, fmt.Errorf("%q: a power factor from 0.05 to 1", text)
		}
		lag[i] = math.Acos(pf) * 180 / math.Pi // phi = acos(PF), of sinusoidal currents (common textbook)
		if m[2] == "lead" {
			lag[i] = -lag[i]
		}
	}
	if lag[0] > lag[1] {
		lag[0], lag[1] = lag[1], lag[0]
	}
	return lag, nil
}

// draws is how many loads are tried; the ends of the interval are then right to
// about a hundredth of its width.
const draws = 20_000

// seed of the draws makes the same question give the same answer.
const seed = 1

// Registration gives registered over true power of an assumed fault over a range
// of loads: that of the balanced load in the middle, and what holds 95 of 100.
// Load angles and the legs' currents are evenly spread over their ranges, the
// angle alike on all legs (our choice). One angle without unbalance is worked out
// exactly.
func (a AssumedFault) Registration(l Load) Registration {
	if l.Lag[0] == l.Lag[1] && l.Unbalance == 0 {
		return Exactly(a.ratio([3]float64{1, 1, 1}, l.Lag[0], l.Sequence))
	}
	rng := rand.New(rand.NewPCG(seed, seed))
	all := make([]float64, draws)
	for i := range all {
		lag := l.Lag[0] + (l.Lag[1]-l.Lag[0])*rng.Float64()
		var amps [3]float64
		for m := range amps {
			amps[m] = 1 + l.Unbalance*(2*rng.Float64()-1)
		}
		all[i] = a.ratio(amps, lag, l.Sequence)
	}
	slices.Sort(all)
	// 2.5 % of the draws lie beyond either end.
	low, high := all[draws/40], all[draws-draws/40]
	middle := a.ratio([3]float64{1, 1, 1}, (l.Lag[0]+l.Lag[1])/2, l.Sequence)
	return Registration{Best: min(max(middle, low), high), Low: low, High: high}
}

// ratio is registered over true power for the legs' currents, per unit, and one
// lag, degrees: with e the legs' voltages, v the inputs' and j the legs' currents,
//
//	sum over channels k of Re(v_k conj(+-gain_k j_leg(k))) / sum over legs m of Re(e_m conj(j_m)).
func (a AssumedFault) ratio(amps [3]float64, lag float64, q wiring.Sequence) float64 {
	e, in := a.service.LegPhasors(q), a.service.InputPhasors(q)
	var j [3]complex128
	for m := range a.service.Legs() {
		j[m] = cmplx.Rect(amps[m], cmplx.Phase(e[m])-lag*math.Pi/180)
	}
	if a.service.Kind == wiring.Delta {
		rest := (j[0] + j[1] + j[2]) / 3 // the zero-sequence current, which has no neutral to flow in
		for m := range j {
			j[m] -= rest
		}
	}
	var whole, registered float64
	for m := range a.service.Legs() {
		whole += real(e[m] * cmplx.Conj(j[m]))
	}
	for k := range a.service.Channels() {
		i := j[a.ct[k].Leg-1] * complex(a.gain[k], 0)
		if a.ct[k].Reversed {
			i = -i
		}
		registered += real(in[k] * complex(a.volts[k], 0) * cmplx.Conj(i))
	}
	return registered / whole
}

// ParseUnbalance reads how far a leg's current may be from the mean, a ratio:
// "20 %".
func ParseUnbalance(text string) (float64, error) {
	x, err := reading.ParseQuantity(text, "%")
	if err != nil {
		return 0, err
	}
	if x < 0 || x > 100 {
		return 0, fmt.Errorf("%q is not from 0 to 100 %%", text)
	}
	return x / 100, nil
}
