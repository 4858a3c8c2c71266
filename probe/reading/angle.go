package reading

import "math"

// Angle is a plane angle in degrees, in (-180, 180]. Make one with Degrees or
// Radians; a bare conversion does not normalise.
type Angle float64

// Degrees is the angle of x degrees, brought into (-180, 180].
// An x that is not finite gives NaN, which Known refuses.
func Degrees(x float64) Angle {
	if x > -180 && x <= 180 {
		return Angle(x)
	}
	x = math.Mod(x, 360)
	switch {
	case x <= -180:
		x += 360
	case x > 180:
		x -= 360
	}
	return Angle(x)
}

// Radians is the angle of x radians.
func Radians(x float64) Angle { return Degrees(x * 180 / math.Pi) }

// Degrees gives the angle in degrees, in (-180, 180].
func (a Angle) Degrees() float64 { return float64(a) }

// Radians gives the angle in radians, in (-pi, pi].
func (a Angle) Radians() float64 { return float64(a) * math.Pi / 180 }

// Plus is a turned by b, normalised.
func (a Angle) Plus(b Angle) Angle { return Degrees(float64(a) + float64(b)) }

// Minus is the turn that leads from b to a, normalised.
func (a Angle) Minus(b Angle) Angle { return Degrees(float64(a) - float64(b)) }

// Opposite is a turned by half a circle.
func (a Angle) Opposite() Angle { return Degrees(float64(a) + 180) }

// Abs is the size of the angle in degrees, in [0, 180].
func (a Angle) Abs() float64 { return math.Abs(float64(a)) }

// Cos and Sin are those of the angle.
func (a Angle) Cos() float64 { return math.Cos(a.Radians()) }

// Sin is the sine of the angle.
func (a Angle) Sin() float64 { return math.Sin(a.Radians()) }
