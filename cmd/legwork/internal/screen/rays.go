package screen

import (
	"cmp"
	"fmt"
	"math"

	"legwork/diagnose"
	"legwork/probe/reading"
)

// RayOptions say how a drawing differs from the usual one.
type RayOptions struct {
	// Angle is by how much a current lags; nil takes the angle that was judged.
	Angle func(diagnose.ChannelJudged) (reading.Angle, bool)
	Least float64 // length of a current of 0 A; 0 is leastRay
}

// Lengths of a current, in those of a voltage: the largest has both. Our choice.
const (
	leastRay = 0.35
	moreRay  = 0.35
)

// Rays are the phasors of a result as RaysBy gives them, by the angles that were
// judged.
func Rays(r diagnose.Result) (rays []Ray, apart bool) { return RaysBy(r, RayOptions{}) }

// RaysBy are the phasors of a result; apart says that each current is drawn against
// its own voltage: without the angles between the voltages, every channel is drawn
// on one and the same.
func RaysBy(r diagnose.Result, o RayOptions) (rays []Ray, apart bool) {
	if o.Angle == nil {
		o.Angle = func(c diagnose.ChannelJudged) (reading.Angle, bool) { return c.Angle.Get() }
	}
	o.Least = cmp.Or(o.Least, leastRay)
	most := 0.0
	for _, c := range r.Channels {
		most = math.Max(most, c.Current.Or(0))
		_, ok := o.Angle(c)
		apart = apart || ok && !c.VoltageAngle.Known()
	}
	if apart {
		rays = append(rays, Ray{Label: "V", Length: 1, Channel: 1})
	}
	for _, c := range r.Channels {
		at := float64(c.VoltageAngle.Or(0))
		if apart {
			at = 0
		} else if c.VoltageAngle.Known() {
			rays = append(rays, Ray{Label: fmt.Sprintf("V%d", c.Channel), Degrees: at, Length: 1, Channel: c.Channel})
		}
		theta, ok := o.Angle(c)
		if !ok || c.State == diagnose.StateUnloaded || most == 0 {
			continue
		}
		rays = append(rays, Ray{Label: fmt.Sprintf("I%d", c.Channel), Degrees: at - float64(theta),
			Length: o.Least + moreRay*c.Current.Or(0)/most, Dotted: true, Channel: c.Channel})
	}
	return rays, apart
}
