package learn

import (
	"fmt"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"

	"legwork/probe/reading"
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

// Rolled CTs make powers that are next to nothing: a reactive power in front of them isn't
// taken for them, nor gaps and totals for the reactive one.
func TestLittlePowerIsNotTheReactiveOne(t *testing.T) {
	h := &handmade{volts: wye400, loads: []load{{46, -90.4}, {42, -89.3}, {26, -92.4}}, seed: 15, to: 43,
		rows: []columns{{0, "S1 S2 S3", "u16", 1}, {3, "PFt PF1 PF2 PF3", "s16", 0.001}, {7, "Q1 Q2 Q3", "s16", 1},
			{11, "Pt P1 P2 P3", "s16", 1}, {15, "Iavg I1 I2 I3", "u16", 0.01}, {19, "V1 V2 V3 Vavg", "u16", 0.1}}}
	im := h.image(t)
	for _, names := range []string{"I1", "V1 I1 P1"} {
		r := Understand(im, h.shown(names))
		require.True(t, r.Settled)
		require.Equal(t, []int{12, 13, 14}, addresses(r.Points[6:9]), names)
	}
}

// Counters that stand still prove no ratio of CTs, and a mean in tenths of a volt before
// three voltages is no channel.
func TestCountersProveNoRatio(t *testing.T) {
	h := &handmade{volts: []float64{120.6, 120.3, 120.8}, loads: []load{{11.8, 172}, {14.7, 165}, {13.3, 172}}, seed: 23,
		from: 1001, to: 1035, order: regmap.CDAB, rows: []columns{{1001, "Vavg V1 V2 V3", "u16", 0.1},
			{1005, "I1 I2 I3 Iavg", "u16", 0.001}, {1009, "P1 P2 P3 Pt", "s16", 1}, {1013, "E", "u32", 0.1}}}
	r := Understand(h.image(t), h.shown("I1"))
	for _, d := range r.Doubts {
		require.NotEqual(t, Ratio, d.Kind, d.String())
	}
	if r.Settled {
		require.Equal(t, []int{1002, 1003, 1004}, addresses(r.Points[:3]))
	}
}

// Registers that hold nothing are no reactive power, though nearly all power is active
// and the last of a row is a reactive power indeed.
func TestGapsAreNoReactivePower(t *testing.T) {
	h := &handmade{volts: wye208, loads: []load{{55, 12}, {49, 22}, {70, 35}}, reversed: []int{3}, seed: 14, to: 82,
		rows: []columns{{1, "V1 - - V2 - - V3", "u16", 0.1}, {16, "I1 - - I2 - - I3", "u16", 0.01},
			{32, "P1 - - P2 - - P3", "s32", 1}, {60, "Q1 Q2 Q3", "s32", 1}}}
	r := Understand(h.image(t), h.shown("V1 I1 P1 V2 I2 P2 V3 I3 P3"))
	require.True(t, r.Settled)
	for _, p := range r.Points {
		require.LessOrEqual(t, p.Quantity, reading.Power, string(r.File()))
	}
}

// Counters after a single channel are no other channel, whose other quantities are zero.
func TestCountersAreNoOtherChannel(t *testing.T) {
	h := &handmade{volts: []float64{121.6}, loads: []load{{23.1, 21}}, reversed: []int{1}, seed: 8, to: 64,
		order: regmap.BADC, rows: []columns{{10, "V1 I1 P1 Q1 S1 PF1 F still little", "f32", 1}}}
	im := h.image(t)
	for _, name := range []string{"V1", "I1", "P1"} {
		require.True(t, Understand(im, h.shown(name)).Settled, name)
	}
}

// Whole volts, whole amperes and tenths of a kilowatt settle where enough is measured,
// and until then more is asked for.
func TestCoarseRegistersAreAskedFor(t *testing.T) {
	h := &handmade{volts: wye400, loads: []load{{30, 15}, {44, 35}, {27, 25}}, seed: 53, to: 64,
		rows: []columns{{0, "V1 V2 V3", "u16", 1}, {3, "I1 I2 I3", "u16", 1}, {6, "P1 P2 P3 Pt", "s16", 100}}}
	im := h.image(t)
	name := map[reading.Quantity]string{reading.Voltage: "V%d", reading.Current: "I%d", reading.Power: "P%d"}
	var shown []Measured
	r := Understand(im, nil)
	for ; !r.Settled && len(shown) < 5; r = Understand(im, shown) {
		require.NotNil(t, r.Ask, "%v", shown)
		if p := r.Ask.Point; p.Index > 0 {
			shown = append(shown, h.shown(fmt.Sprintf(name[p.Quantity], p.Index))...)
		} else {
			shown = append(shown, h.shown("Pt")...)
		}
	}
	require.True(t, r.Settled, "%v", shown)
}

// Voltages and currents in floats stand beside powers in integers.
func TestFloatsBesideIntegerPowersAreSettled(t *testing.T) {
	for _, c := range []struct {
		order regmap.Order
		gaps  uint16
		scale float64
	}{{regmap.ABCD, 0xFFFF, 0.01}, {regmap.CDAB, 0, 1}, {regmap.DCBA, 0, 1}} {
		h := &handmade{volts: wye208, loads: []load{{30, 15}, {44, 35}, {27, 25}}, reversed: []int{1, 2, 3}, seed: 51,
			order: c.order, gaps: c.gaps, to: 256}
		for k := range 3 {
			at, channel := 100+32*k, strconv.Itoa(k+1)
			h.rows = append(h.rows, columns{at, "V" + channel, "f32", 1}, columns{at + 4, "I" + channel, "f32", 1},
				columns{at + 8, "P" + channel, "s32", c.scale}, columns{at + 12, "Q" + channel, "s32", c.scale})
		}
		r := Understand(h.image(t), h.shown("V1 I1 P1"))
		require.True(t, r.Settled, "%v: %s", c, r.File())
		require.Equal(t, []int{100, 132, 164, 104, 136, 168, 108, 140, 172}, addresses(r.Points[:9]))
		require.Equal(t, regmap.S32, r.Points[6].Type)
		require.InDelta(t, c.scale, r.Points[6].Scale, 1e-9)
	}
}
