package screen

import (
	"bytes"
	"testing"

	"github.com/stretchr/testify/require"

	"legwork/probe/learn"
	"legwork/probe/learn/image"
	"legwork/probe/reading"
	"legwork/probe/regmap"
)

// What speaks against a reading is said, and what of its sign isn't proven.
func TestLearnedSaysWhatSpeaksAgainstIt(t *testing.T) {
	power := regmap.Point{Point: reading.Point{Quantity: reading.Power, Index: 1}, Address: 6, Count: 1, Type: regmap.S16,
		Scale: 1}
	r := &learn.Result{Channels: 1, Points: []learn.Point{{Point: power, Reads: 6691, NoSignSeen: true}}}
	var out bytes.Buffer
	require.NoError(t, Learned(&out, Registers{Image: &image.Image{}}, r, Style{}))
	require.Contains(t, out.String(), "  6691 W\n                  never negative: its sign is not proven\n")

	r.Open, r.Points = r.Points, nil
	r.Doubts = []learn.Doubt{{Kind: learn.NoSign, Point: power.Point, Shown: -6889, Reads: 6691}}
	out.Reset()
	require.NoError(t, Learned(&out, Registers{Image: &image.Image{}}, r, Style{}))
	require.Contains(t, out.String(), "What speaks against it:\n  an instrument shows -6889 W for power.1, and ")
	require.NotContains(t, out.String(), "No single measurement")
}
