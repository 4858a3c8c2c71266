package evidence

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"legwork/probe/reading"
)

// Whatever a register holds, the odds of a wrong map are a number.
func TestOddsOfAWrongMapAreANumber(t *testing.T) {
	for _, volts := range []float64{5e-324, 1e-45, 1e-300, 1e308, math.MaxFloat64} {
		for _, watts := range []float64{120, -1e308, 5e-324} {
			c := reading.Channel{Voltage: reading.Known(volts), Current: reading.Known(120.0), Power: reading.Known(watts), Reactive: reading.Known(120.0)}
			r := reading.Reading{Channels: []reading.Channel{c, c}}
			for _, faults := range [][]Fault{nil, {{Point: pointOf(reading.Voltage, 0), Kind: NoSize}}} {
				odds := Doubt(&r, faults, Expected{}).Odds
				require.False(t, math.IsNaN(odds) || math.IsInf(odds, 0), "%g V, %g W: %g", volts, watts, odds)
			}
		}
	}
}
