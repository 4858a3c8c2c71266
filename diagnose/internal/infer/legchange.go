package infer

import (
	"math"
	"math/cmplx"

	"legwork/diagnose/internal/evidence"
	"legwork/diagnose/internal/gaussian"
	"legwork/diagnose/internal/loadmodel"
)

// legChange is the change of one leg's current, absolute, with its noise, and what
// follows from it alone: densities, by which the arrangements that put a channel on the
// same leg the same way share it.
type legChange struct {
	amps  complex128 // from the phasor of leg 1
	was   complex128 // the current before
	noise float64    // of a current that stays
	blur  float64    // of one that changes; more where distortion may pass for angle

	still float64    // of no change
	stray float64    // of any size at any angle
	lean  float64    // what its angle says, where many loads change at once
	own   float64    // of one load on the leg
	three float64    // of a three-phase load
	line  [3]float64 // of one load between the leg and another
}

// onLeg is a channel's change as that of leg m, turned from the channel's own.
func (w *changes) onLeg(c legChange, by complex128, m int) legChange {
	c.amps, c.was = c.amps*by, c.was*by
	w.weigh(&c, m)
	return c
}

// weigh fills in what follows from a leg's change alone.
func (w *changes) weigh(c *legChange, m int) {
	c.stray = strayDensity(c)
	c.lean = w.leanOf(c, m)
	c.own = w.load(w.kinds, c, w.turn[m])
	c.three = w.load(w.three, c, w.star[m])
	for o := range w.scene.Frame.Service.Legs() {
		if o != m {
			c.line[o] = w.load(w.kinds, c, w.line[m][o])
		}
	}
}

// load is the density of a change as a single load on a voltage, on or off.
func (w *changes) load(kinds []float32, c *legChange, voltage complex128) float64 {
	size := cmplx.Abs(c.amps)
	if size < 2*c.noise {
		return strayDensity(c)
	}
	phi := cmplx.Phase(voltage/c.amps) * 180 / math.Pi
	on, off := kinds[loadmodel.Cell(phi)], kinds[loadmodel.Cell(phi+180)]
	angle := (stepOn*float64(on) + (1-stepOn)*float64(off)) / (loadmodel.CellDegrees * math.Pi / 180)
	odd := math.Min(1, oddLoad+2*c.blur/size)
	angle = (1-odd)*angle + odd/(2*math.Pi)
	return stepSizeDensity / (size * size) * angle
}

// strayDensity is the density of a change of any size at any angle.
func strayDensity(c *legChange) float64 {
	size := math.Max(cmplx.Abs(c.amps), 2*c.noise)
	return stepSizeDensity / (size * size) / (2 * math.Pi)
}

// leanAt is where the angles of loads lie, degrees from a leg's own load.
var leanAt = [...]float64{0, 30, -30, 180, 210, 150}

// leanOf is what the angle says of many loads changing at once: what came and what went
// lies along the angles of loads, one way or the other, where loads between two legs lie
// 30 degrees to either side. With p that of a load's own angle against any angle, and
// s = leanShare,
//
//	1 - s + s (mean of p at phi, phi +- 30 and the opposites)
func (w *changes) leanOf(c *legChange, m int) float64 {
	size := cmplx.Abs(c.amps)
	if size < 2*c.noise {
		return 1
	}
	phi := cmplx.Phase(w.turn[m]/c.amps) * 180 / math.Pi
	var along float64
	for _, aside := range leanAt {
		along += float64(w.kinds[loadmodel.Cell(phi+aside)]) / float64(len(leanAt))
	}
	along *= 360 / loadmodel.CellDegrees
	share := leanShare * math.Max(0, 1-2*c.blur/size)
	return 1 - share + share*along
}

// less is the change without that of another load.
func (c *legChange) less(amps complex128, blur float64) legChange {
	blur = math.Hypot(c.blur, blur)
	return legChange{amps: c.amps - amps, blur: blur, noise: math.Max(c.noise, blur)}
}

// bare is the change of leg m that no CT is on, by that of the neutral: what the
// others don't explain of it. What stays on the others is matched by themselves, so that
// of their uncertainty only the errors of the readings count once more.
func (w *changes) bare(back *legChange, others *[3]*legChange, m int, times float64) *legChange {
	c := &legChange{amps: back.amps, was: back.was, noise: back.noise}
	aside := back.blur - back.noise
	for _, o := range others {
		if o != nil {
			c.amps -= o.amps
			c.was -= o.was
			c.noise = math.Hypot(c.noise, math.Hypot(calmNoise/times*o.noise, cancelSlack*cmplx.Abs(o.amps)))
			aside = math.Hypot(aside, o.blur-o.noise)
		}
	}
	before, after := evidence.Current{Amps: cmplx.Abs(c.was)}, evidence.Current{Amps: cmplx.Abs(c.was + c.amps)}
	c.noise = math.Hypot(c.noise, times*math.Hypot(before.Noise(), after.Noise()))
	c.blur = c.noise + aside
	c.still = gaussian.Plane(c.amps, c.noise)
	w.weigh(c, m)
	return c
}

// channelChange is the change that channel k saw, as seen from its own voltage, where
// what stays is uncertain by so many times the usual. A change of the voltage moves the
// current of whatever is on by about as much.
func channelChange(from, to *evidence.State, k, signBefore, signAfter int, times float64) legChange {
	end, begin := &from.Edges[evidence.Closing][k], &to.Edges[evidence.Opening][k]
	noise := times*math.Hypot(end.Noise(), begin.Noise()) + evidence.Dip(end.Current, begin.Current)
	before, after := end.Z[min(signBefore, end.Zs-1)], begin.Z[min(signAfter, begin.Zs-1)]
	c := legChange{amps: after - before, was: before, noise: noise, blur: noise}
	if end.Zs > 1 || begin.Zs > 1 {
		c.blur += signlessNoise*math.Abs(imag(c.amps)) + signlessRest*math.Abs(imag(before))
	}
	if aside := math.Hypot(end.Aside(), begin.Aside()); aside > 0 {
		c.blur = math.Hypot(c.blur, aside)
		c.still = gaussian.Line(real(c.amps), noise) * gaussian.Line(imag(c.amps), math.Hypot(noise, aside))
	} else {
		c.still = gaussian.Plane(c.amps, noise)
	}
	return c
}
