package learn

import (
	"testing"

	"github.com/stretchr/testify/require"

	"legwork/probe/regmap"
)

// meanFirst is a meter whose voltages follow on their mean, after counters, powers with
// their totals in front, and currents.
func meanFirst() *handmade {
	return &handmade{volts: wye400, loads: []load{{3, 15}, {4.4, 35}, {2.7, 25}}, reversed: []int{2}, seed: 55, to: 300,
		table: regmap.Input, rows: []columns{{131, "E -", "u32", 0.001}, {139, "Pt P1 P2 P3 Qt Q1 Q2 Q3", "s32", 0.1},
			{155, "I1 I2 I3", "u32", 0.001}, {161, "Vavg V1 V2 V3", "u32", 0.01}}}
}

// Of four in a row that one is the mean of, three are the channels.
func TestMeanBeforeVoltagesIsNoChannel(t *testing.T) {
	h := meanFirst()
	r := Understand(h.image(t), h.shown("P2"))
	require.True(t, r.Settled)
	require.Equal(t, []int{163, 165, 167}, addresses(r.Points[:3]))

	h.rows[2] = columns{155, "Iavg I1 I2 I3", "u32", 0.001}
	h.rows[3] = columns{163, "V1 V2 V3 Vavg", "u32", 0.01}
	r = Understand(h.image(t), h.shown("P2 I1"))
	require.True(t, r.Settled)
	require.Equal(t, []int{163, 165, 167, 157, 159, 161}, addresses(r.Points[:6]))
}

func addresses(points []Point) []int {
	var all []int
	for _, p := range points {
		all = append(all, p.Address)
	}
	return all
}
