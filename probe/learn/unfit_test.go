package learn

import (
	"testing"

	"github.com/stretchr/testify/require"

	"legwork/probe/reading"
)

func parsed(t *testing.T, texts ...string) []Measured {
	var all []Measured
	for _, text := range texts {
		m, err := ParseMeasured(text)
		require.NoError(t, err)
		all = append(all, m)
	}
	return all
}

// A slip of the pen, a conductor for another or a channel that isn't there fits
// nothing that was found, and is told; what a load does between two looks is not.
func TestWhatFitsNothingIsTold(t *testing.T) {
	points := inRow(3000, 2, "type: f32, order: CDAB", "voltage", "current", "power", "apparent", "pf") +
		"  total_power: {at: 3030, type: f32, order: CDAB}\n  frequency: {at: 3032, type: f32, order: CDAB}\n"
	im := imageBy(t, points, 3000, 40)
	for name, c := range map[string]struct{ measured, unfit []string }{
		"as they are":        {[]string{"channel 1: 121.4 V", "channel 2: 97 A", "total: 10.5 kW"}, nil},
		"a load that moved":  {[]string{"channel 1: 80 A", "channel 3: 9.2 kW"}, nil},
		"a decimal point":    {[]string{"channel 1: 12.14 V", "channel 1: 87 A"}, []string{"channel 1: 12.14 V"}},
		"one leg's voltage":  {[]string{"channel 1: 131 V"}, []string{"channel 1: 131 V"}},
		"half the power":     {[]string{"channel 1: 4.9 kW"}, []string{"channel 1: 4900 W"}},
		"not measured there": {[]string{"frequency: 60 Hz", "channel 1: 3 kWh", "channel 2: 10.6 kVA"}, nil},
	} {
		t.Run(name, func(t *testing.T) {
			r := Understand(im, parsed(t, c.measured...))
			var got []string
			for _, u := range r.Unfit {
				require.True(t, u.Found)
				got = append(got, u.String())
			}
			require.Equal(t, c.unfit, got)
		})
	}
}

// Of integers one reading carries every scale; two don't, and floats need none.
func TestOneReadingCarriesEveryScale(t *testing.T) {
	points := inRow(0, 1, "type: u16, scale: 0.1", "voltage") + inRow(3, 1, "type: u16, scale: 0.1", "current") +
		inRow(6, 1, "type: s16, scale: 10", "power") + inRow(9, 1, "type: u16, scale: 10", "apparent")
	im := imageBy(t, points, 0, 40)
	r := Understand(im, parsed(t, "channel 1: 121.4 V", "channel 1: 87.3 A"))
	require.True(t, r.Settled)
	require.Equal(t, "channel 1: 87.3 A", r.Sole.String())
	require.Empty(t, r.Lacked)
	require.Nil(t, Understand(im, parsed(t, "channel 1: 87.3 A", "channel 2: 97.6 A")).Sole)

	r = Understand(im, parsed(t, "channel 1: 500 A"))
	require.False(t, r.Settled)
	require.Len(t, r.Unfit, 1)
	require.True(t, r.Unfit[0].Open)
	require.Contains(t, r.Lacked, reading.Point{Quantity: reading.Voltage, Index: 1})
	require.NotContains(t, r.Lacked, reading.Point{Quantity: reading.Current, Index: 1})
	require.Contains(t, r.Lacked, reading.Point{Quantity: reading.TotalPower})
	require.NotEmpty(t, r.Rival, "the scale may be another")
}

// Signs aren't looked at: a minus that was typed fits registers of either sign.
func TestAMinusFitsWhatIsFound(t *testing.T) {
	shown := Measured{reading.Point{Quantity: reading.Power, Index: 1}, -6889}
	require.True(t, shown.Fits(-6691, 7000))
	require.True(t, shown.Fits(6691, 7000))
	require.False(t, shown.Fits(3300, 7000))
	im := imageBy(t, inRow(0, 2, "type: f32", "voltage", "current", "power"), 0, 40)
	r := Understand(im, parsed(t, "channel 1: 50 A"))
	require.Len(t, r.Unfit, 1)
	require.NotEmpty(t, r.Doubts)
	require.Empty(t, r.OtherDoubts(), "it is said once")
}
