package learn

import (
	"fmt"
	"math"
	"strings"

	"legwork/probe/reading"
)

// TieKind says in which way values hang together.
type TieKind uint8

// The kinds of ties.
const (
	Alike    TieKind = iota + 1 // voltages alike, near a nominal one
	Product                     // apparent power is voltage times current
	Squares                     // the squares of active and reactive power make that of the apparent one
	Factor                      // power factor is active over apparent power
	Sum                         // a total is the sum of the channels
	Follows                     // power moves with voltage times current
	RootFrom                    // line voltages follow from those of the channels
	NearMain                    // frequency near that of the mains
	Shown                       // an instrument shows it
)

// Tie is one thing that holds a point in place.
type Tie struct {
	Kind   TieKind
	Points []reading.Point // whom it ties, in the order of the formula
	Within float64         // how far they are off, as a ratio; of NearMain and Alike about what
	About  float64         // the value that is met: V, Hz, or what the instrument shows
}

// String is the tie as a person reads it.
func (t Tie) String() string {
	names := make([]string, len(t.Points))
	for i, p := range t.Points {
		names[i] = p.String()
	}
	off := fmt.Sprintf("within %.2g %%", math.Max(0.001, 100*t.Within))
	switch t.Kind {
	case Alike:
		return fmt.Sprintf("%s alike %s, near %.0f V", strings.Join(names, ", "), off, t.About)
	case Product:
		return fmt.Sprintf("%s x %s = %s %s", names[0], names[1], names[2], off)
	case Squares:
		return fmt.Sprintf("%s² + %s² = (%s x %s)² %s", names[0], names[1], names[2], names[3], off)
	case Factor:
		return fmt.Sprintf("%s = %s / (%s x %s) %s", names[0], names[1], names[2], names[3], off)
	case Sum:
		last := len(names) - 1
		return fmt.Sprintf("%s = %s %s", strings.Join(names[:last], " + "), names[last], off)
	case Follows:
		return fmt.Sprintf("%s moves with %s x %s %s", names[0], names[1], names[2], off)
	case RootFrom:
		return fmt.Sprintf("%s from %s and %s at 120 degrees %s", names[0], names[1], names[2], off)
	case NearMain:
		return fmt.Sprintf("near %g Hz %s", t.About, off)
	}
	return fmt.Sprintf("an instrument shows %.4g %s, %s", t.About, t.Points[0].Quantity.Unit(), off)
}
