package reading

import (
	"encoding/json"
	"math"
	"testing"

	"github.com/stretchr/testify/require"
)

// Worked examples of NEMA's measure (MG 1's own is the first, as quoted by a
// calculator page), with the negative sequence computed from the formula.
func TestLineUnbalanceExamples(t *testing.T) {
	for _, c := range []struct {
		line           [3]float64
		nema, negative float64 // per cent
	}{
		{[3]float64{460, 467, 450}, 1.96, 2.1465},
		{[3]float64{462, 463, 455}, 1.09, 1.0914},
		{[3]float64{480, 476, 472}, 0.84, 0.9704},
		{[3]float64{230, 232, 225}, 1.7467, 1.8129},
	} {
		nema, negative, ok := LineUnbalance([3]Value{Known(c.line[0]), Known(c.line[1]), Known(c.line[2])})
		require.True(t, ok)
		require.InDelta(t, c.nema, 100*nema, 0.005)
		require.InDelta(t, c.negative, 100*negative, 0.0005)
	}
	_, _, ok := LineUnbalance([3]Value{Known(480.0), Known(480.0)})
	require.False(t, ok, "an unknown voltage")
	_, _, ok = LineUnbalance([3]Value{Known(480.0), Known(100.0), Known(100.0)})
	require.False(t, ok, "no triangle")
}

func TestAnglesAreNormalised(t *testing.T) {
	for in, want := range map[float64]Angle{0: 0, 180: 180, -180: 180, 181: -179, 540: 180, -540: 180, 1e9: Degrees(math.Mod(1e9, 360))} {
		require.InDelta(t, float64(want), float64(Degrees(in)), 1e-9, "%g", in)
	}
	require.Equal(t, Angle(-170), Angle(175).Plus(15))
	require.Equal(t, Angle(20), Angle(-170).Minus(170))
	require.Equal(t, Angle(-90), Angle(90).Opposite())
}

func TestWhatIsNoNumberIsUnknown(t *testing.T) {
	require.False(t, Known(math.NaN()).Known())
	require.False(t, Known(math.Inf(-1)).Known())
	require.False(t, Known(Degrees(math.Inf(1))).Known())
	b, err := json.Marshal([]Value{Known(0.0), {}})
	require.NoError(t, err)
	require.JSONEq(t, "[0, null]", string(b))
	var v []Value
	require.NoError(t, json.Unmarshal([]byte("[null, 1.5]"), &v))
	require.Equal(t, []Value{{}, Known(1.5)}, v)
}

func TestEveryPointHasANameThatIsReadBack(t *testing.T) {
	r := Reading{Channels: make([]Channel, 3)}
	for i, p := range Points() {
		got, err := ParsePoint(p.String())
		require.NoError(t, err)
		require.Equal(t, p, got)
		if p.Quantity.IsText() {
			require.True(t, r.SetText(p, p.String()))
			require.Equal(t, p.String(), r.Text(p))
			continue
		}
		require.True(t, r.SetNumber(p, Known(float64(i))))
		require.Equal(t, Known(float64(i)), r.Number(p), p.String())
	}
	for _, name := range []string{"power", "power.4", "frequency.1", "line_voltage.13", "volts.1", ""} {
		_, err := ParsePoint(name)
		require.Error(t, err, name)
	}
}
