package infer

import (
	"math"
	"math/cmplx"

	"legwork/diagnose/internal/evidence"
	"legwork/diagnose/internal/frames"
	"legwork/diagnose/internal/loadmodel"
	"legwork/diagnose/internal/prior"
	"legwork/probe/reading"
)

// Scene is what one frame makes of the observed: for every judged channel, leg
// and polarity, the load angles that the candidates imply.
type Scene struct {
	Frame     *frames.Frame
	model     *prior.Model
	densities *prior.Densities
	exports   bool               // inverters give back power beside the loads
	density   *loadmodel.Density // for the currents as they were read
	Axis      [3]int             // canonical axis of leg number m+1
	judged    int                // bits
	unseen    implied            // a leg that no CT is on
	most      float64            // the largest weight of an arrangement without the neutral
	Observed  *[3]evidence.Observation
	Implied   [3][prior.Digits]implied
	offset    [3][prior.Digits]float64 // theta - phi of a channel at a place, degrees
	reads     [3][8]complex128         // what each candidate of a channel has for a current, by leg 1's own phasor
	upright   [3]complex128            // turns a leg's current so that its own voltage has angle 0
	alike     [3][3]float64            // how well two currents agree in size with one conductor
}

// implied is the load angles of one channel at one place. Candidates that fall
// into one cell count as one.
type implied struct {
	N     int
	cell  [8]int
	Share [8]float64
	Phi   [8]float64 // degrees, of the first candidate in the cell
}

func (m *implied) add(phi, share float64) {
	c := loadmodel.Cell(phi)
	for i := range m.N {
		if m.cell[i] == c {
			m.Share[i] += share
			return
		}
	}
	m.cell[m.N], m.Share[m.N], m.Phi[m.N] = c, share, phi
	m.N++
}

// NewScene takes the observations of one state of the load under a frame, and a sort of panel.
func NewScene(f *frames.Frame, observed *[3]evidence.Observation, sort loadmodel.Sort) *Scene {
	sc := new(Scene)
	sc.set(f, observed, sort)
	return sc
}

// set makes the scene what NewScene gives, in the room that it has.
func (sc *Scene) set(f *frames.Frame, observed *[3]evidence.Observation, sort loadmodel.Sort) {
	*sc = Scene{Frame: f, model: f.Model, densities: f.Model.Densities(sort.Loads()), Observed: observed,
		exports: sort.Panel == loadmodel.Exporting}
	for axis, leg := range f.Service.Canonical(f.Sequence) {
		sc.Axis[leg-1] = axis
	}
	n := f.Service.Channels()
	least, most := math.Inf(1), 0.0
	sc.unseen.N, sc.unseen.cell[0], sc.unseen.Share[0] = 1, -1, 1
	var leg [3]float64 // the voltages' angles, degrees
	for m := range f.Service.Legs() {
		leg[m] = cmplx.Phase(f.Leg[m]) * 180 / math.Pi
	}
	for k := range n {
		if !observed[k].Loaded || !f.Usable[k] {
			continue
		}
		input := cmplx.Phase(f.Input[k]) * 180 / math.Pi
		sc.judged |= 1 << k
		least, most = math.Min(least, observed[k].Amps), math.Max(most, observed[k].Amps)
		for digit := range 2 * f.Service.Legs() {
			sc.offset[k][digit] = input - leg[digit/2] + 180*float64(digit%2)
			sc.imply(k, digit)
		}
		for i, c := range observed[k].List() {
			sc.reads[k][i] = cmplx.Rect(observed[k].Working, (input-c.Theta)*math.Pi/180)
		}
	}
	for m := range f.Service.Legs() {
		sc.upright[m] = cmplx.Conj(f.Leg[m]) / complex(cmplx.Abs(f.Leg[m]), 0)
	}
	sc.density = sc.densities.Of(loadmodel.ClassOf(most / least))
	for i := range n {
		for j := range i {
			sc.alike[j][i] = sameConductor(observed[j].Amps, observed[i].Amps)
		}
	}
}

// imply fills the load angles that channel k would show on a leg, turned or not:
// phi = theta - (arg V - arg E) + 180 r.
func (sc *Scene) imply(k, digit int) {
	for _, c := range sc.Observed[k].List() {
		sc.Implied[k][digit].add(float64(reading.Degrees(c.Theta-sc.offset[k][digit])), c.Share)
	}
}

// FarFromLoads reports load angles of channel k at a place, all that the candidates imply, that
// no load has without a capacitor bank or a generator.
func (sc *Scene) FarFromLoads(k, digit int) bool {
	implied := &sc.Implied[k][digit]
	for _, phi := range implied.Phi[:implied.N] {
		if -50 <= phi && phi <= 100 {
			return false
		}
	}
	return implied.N > 0
}

// Offset is theta - phi of channel k for a place, in degrees.
func (sc *Scene) Offset(k, digit int) float64 { return sc.offset[k][digit] }

// weigh fills the weight of every arrangement under the scene's frame; those with a CT
// on the neutral come last.
func (sc *Scene) weigh(out *[prior.Arrangements]float64) {
	list := sc.model.Lists[sc.judged]
	for i := range list {
		if a := &list[i]; a.Neutral == 0 {
			out[a.Number] = sc.weightOf(a)
			sc.most = max(sc.most, out[a.Number])
		}
	}
	for i := range list {
		if a := &list[i]; a.Neutral > 0 {
			out[a.Number] = sc.weightOf(a)
		}
	}
}

// weightOf is the weight of one arrangement.
func (sc *Scene) weightOf(a *prior.Arranged) float64 {
	share := a.Share[prior.SequenceIndex(sc.Frame.Sequence)] * sc.Frame.Share
	if a.Same[1] != 0 {
		share *= sc.alike[a.Same[0]][a.Same[1]]
	}
	switch {
	case share < leastPrior || sc.exports && (a.Neutral > 0 || a.Same[1] != 0 || share < leastExportPrior):
		return 0
	case sc.exports:
		return share * sc.exportLikelihood(signedReading{a, anySigns})
	case a.Neutral > 0:
		return share * sc.neutralLikelihood(signedReading{a, anySigns}, share)
	}
	return share * (sc.likelihood(a) + sc.coincidences(a))
}

// likelihood sums the density over the candidates of the judged channels. Of two CTs on
// one leg the later gives the angle, as far as the earlier one has it too.
func (sc *Scene) likelihood(a *prior.Arranged) float64 {
	var seen [3]*implied // by canonical axis
	var both implied
	for k, d := range a.Digit {
		if d < 0 {
			continue
		}
		implied := &sc.Implied[k][d]
		if a.Same[1] == k && k > 0 {
			both = *implied
			for i := range both.N {
				both.Share[i] *= sc.Coincide(a, i)
			}
			implied = &both
		}
		seen[sc.Axis[d/2]] = implied
	}
	return sc.sum(&seen)
}

// sum is that of the density over the candidates of each leg, by canonical axis.
func (sc *Scene) sum(seen *[3]*implied) (sum float64) {
	for m := range seen {
		if seen[m] == nil {
			seen[m] = &sc.unseen
		}
	}
	x, y, z := seen[0], seen[1], seen[2]
	for i := range x.N {
		for j := range y.N {
			share := x.Share[i] * y.Share[j]
			if share == 0 {
				continue
			}
			for n := range z.N {
				sum += share * z.Share[n] * sc.density.At([3]int{x.cell[i], y.cell[j], z.cell[n]})
			}
		}
	}
	return sum
}

// At is the density of load angles, by canonical axis.
func (sc *Scene) At(cell [3]int) float64 { return sc.density.At(cell) }
