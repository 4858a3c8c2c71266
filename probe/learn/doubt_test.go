package learn

import (
	"testing"

	"github.com/stretchr/testify/require"

	"legwork/probe/reading"
)

// Voltages of invented services, a leg each.
var (
	wye400 = []float64{231.4, 229.3, 232.6}
	wye208 = []float64{120.7, 119.6, 121.2}
)

// sizeOnly is a meter whose powers have no sign, with CT 1 the wrong way round.
func sizeOnly() *handmade {
	return &handmade{volts: wye400, loads: []load{{31, 18}, {22, 27}, {40, 9}}, reversed: []int{1}, seed: 41, to: 60,
		rows: []columns{{0, "V1 V2 V3", "u16", 0.1}, {3, "I1 I2 I3", "u16", 0.01}, {6, "AP1 AP2 AP3", "u16", 1}}}
}

// A minus that an instrument shows is not thrown away.
func TestPowersWithoutSignAreNotSettled(t *testing.T) {
	h := sizeOnly()
	im := h.image(t)
	shown := h.shown("V1 I1 P1 V2 I2 P2 V3 I3 P3")
	require.Less(t, shown[2].Value, 0.)
	r := Understand(im, shown)
	require.False(t, r.Settled)
	require.Nil(t, r.Ask, "nothing that is measured gives them a sign")
	require.Len(t, r.Doubts, 1)
	require.Equal(t, NoSign, r.Doubts[0].Kind)
	require.Contains(t, string(r.File()), "for power.1, and these registers are never negative")

	for i := range shown { // a clamp shows none
		shown[i] = Shows(shown[i].Point, max(shown[i].Value, -shown[i].Value))
	}
	r = Understand(im, shown)
	require.True(t, r.Settled)
	require.Contains(t, string(r.File()), NeverNegative)
}

// A direction in a register of its own makes no sign.
func TestDirectionBesideASizeIsNotSettled(t *testing.T) {
	h := sizeOnly()
	h.rows = append(h.rows, columns{9, "S1 S2 S3 DIR1 DIR2 DIR3", "u16", 1})
	r := Understand(h.image(t), h.shown("V1 I1 P1 V2 I2 P2 V3 I3 P3"))
	require.False(t, r.Settled)
	require.Equal(t, NoSign, r.Doubts[0].Kind)
}

// Powers whose sign is a bit of its own read as nothing that is known: the apparent
// powers are no powers.
func TestApparentPowersAreNotTakenForPowers(t *testing.T) {
	h := &handmade{volts: wye208, loads: []load{{29, 15}, {43, 26}, {36, 14}}, reversed: []int{1, 3}, seed: 18, to: 60,
		rows: []columns{{0, "V1 V2 V3", "u16", 0.1}, {3, "I1 I2 I3", "u16", 0.01}, {6, "P1 P2 P3", "magnitude", 1},
			{9, "S1 S2 S3", "u16", 1}}}
	im := h.image(t)
	r := Understand(im, h.shown("V1 I1 P1 V2 I2 P2 V3 I3 P3 Pt"))
	require.False(t, r.Settled)
	require.GreaterOrEqual(t, len(r.Doubts), 3)
	r = Understand(im, h.shown("V1 I1 V2 I2 P2 V3 I3 Pt")) // the power that is positive, and the total
	require.False(t, r.Settled)
}

// A signed power is settled, and its sign is proven.
func TestSignedPowersAreSettled(t *testing.T) {
	h := sizeOnly()
	h.rows[2] = columns{6, "P1 P2 P3", "s16", 1}
	im := h.image(t)
	shown := h.shown("V1 I1 P1 V2 I2 P2 V3 I3 P3 Pt")
	r := Understand(im, shown)
	require.True(t, r.Settled)
	require.Empty(t, r.Doubts)
	require.NotContains(t, string(r.File()), NeverNegative)

	last := &shown[len(shown)-1]
	last.Value *= 1.4
	r = Understand(im, shown)
	require.False(t, r.Settled, "a total that contradicts is not dropped")
	require.Equal(t, last.Point, r.Doubts[0].Point)
}

// An instrument that is far off is not explained away.
func TestInstrumentsFarOffSettleNothing(t *testing.T) {
	h := sizeOnly()
	h.rows[2] = columns{6, "P1 P2 P3", "s16", 1}
	im := h.image(t)
	for i, off := range []float64{1.05, 1.15, 0.85} {
		shown := h.shown("V1 I1 P1 V2 I2 P2 V3 I3 P3")
		shown[i].Value *= off
		r := Understand(im, shown)
		require.False(t, r.Settled, "%v", shown[i])
		require.Equal(t, ShownElse, r.Doubts[0].Kind)
		require.Equal(t, shown[i].Point, r.Doubts[0].Point)
	}
}

// Currents of the secondary side beside powers of the primary one have no power of ten.
func TestCurrentsWithoutTheirRatioAreNotSettled(t *testing.T) {
	h := &handmade{volts: []float64{278.3, 275.9, 279.8}, loads: []load{{230, 15}, {244, 35}, {207, 25}},
		reversed: []int{2}, seed: 56, to: 64,
		rows: []columns{{0, "V1 V2 V3", "u16", 0.1}, {3, "I1 I2 I3", "u16", 0.001 * 400 / 5},
			{6, "P1 P2 P3 Pt Q1 Q2 Q3 Qt", "s32", 1}}}
	im := h.image(t)
	for _, names := range []string{"P1", "V1 I1 P1"} {
		r := Understand(im, h.shown(names))
		require.False(t, r.Settled)
		require.Nil(t, r.Ask)
		last := r.Doubts[len(r.Doubts)-1]
		require.Equal(t, Ratio, last.Kind)
		require.InDelta(t, 8, last.Reads, 0.01)
	}
	h.rows[1] = columns{3, "I1 I2 I3", "u16", 0.1}
	r := Understand(h.image(t), h.shown("P1"))
	require.True(t, r.Settled)
	require.Empty(t, r.Doubts)
}

// Power factors times the apparent powers make the powers, as volts times amperes do; a
// multimeter tells.
func TestPowerFactorsAreNoVoltages(t *testing.T) {
	for _, degrees := range []float64{6, 12} {
		h := &handmade{volts: wye208, loads: []load{{33.5, degrees}, {26.6, degrees + 2}, {35.3, 3}}, seed: 30,
			from: 1013, to: 1028, rows: []columns{{1013, "P1 P2 P3 Pt", "s16", 1}, {1022, "S1 S2 S3", "u16", 1},
				{1025, "PF1 PF2 PF3", "s16", 0.001}}}
		im := h.image(t)
		taken := Shows(reading.Point{Quantity: reading.Current, Index: 1}, h.last["S1"]/100)
		r := Understand(im, []Measured{taken})
		require.False(t, r.Settled, string(r.File()))
		require.Equal(t, NoService, r.Doubts[len(r.Doubts)-1].Kind)
		require.Equal(t, reading.Point{Quantity: reading.Voltage, Index: 1}, r.Ask.Point)
		require.False(t, Understand(im, append(h.shown("V1"), taken)).Settled)
	}
}

// Voltages between legs, beside the currents and powers of each leg, are no channels'
// voltages until a voltmeter says so.
func TestLineVoltagesAreAskedFor(t *testing.T) {
	h := &handmade{volts: wye400, loads: []load{{31, 18}, {22, 27}, {40, 9}}, seed: 61, to: 60,
		rows: []columns{{0, "V1 V2 V3", "f32", 1 / rootThree}, {6, "I1 I2 I3", "f32", 1},
			{12, "P1 P2 P3 Pt", "f32", 1}, {24, "F", "f32", 1}}}
	im := h.image(t)
	for _, names := range []string{"I1", "P1"} {
		r := Understand(im, h.shown(names))
		require.False(t, r.Settled)
		require.Equal(t, reading.Point{Quantity: reading.Voltage, Index: 1}, r.Ask.Point)
	}
	require.False(t, Understand(im, h.shown("V1 I1 P1")).Settled)
}

// A register that counts one direction only reads nothing where the CT is the wrong way
// round, though current flows.
func TestOneDirectionIsNotSettled(t *testing.T) {
	h := sizeOnly()
	h.reversed = []int{2}
	h.rows[2] = columns{6, "IM1 IM2 IM3 EX1 EX2 EX3", "u16", 1}
	h.rows = append(h.rows, columns{20, "S1 S2 S3", "u16", 1})
	stayOpen(t, h, "P1", "V1 I1 P1", "V1 I1 P1 V2 I2 P2 V3 I3 P3")
}

// stayOpen holds that a meter isn't settled by any of what is shown of it.
func stayOpen(t *testing.T, h *handmade, shown ...string) {
	im := h.image(t)
	for _, names := range shown {
		require.False(t, Understand(im, h.shown(names)).Settled, names)
	}
}

// A channel between two others isn't passed over where its power has its sign in a bit of
// its own, or its input is dead and reads next to nothing.
func TestChannelBetweenIsNotPassedOver(t *testing.T) {
	h := sizeOnly()
	h.reversed = []int{2}
	h.rows[2] = columns{6, "P1 P2 P3", "magnitude", 1}
	h.rows = append(h.rows, columns{10, "PF1 PF2 PF3 F", "magnitude", 0.001})
	stayOpen(t, h, "I1", "P1", "V1 I1 P1")
	h = &handmade{volts: []float64{241.7, 0.001, 241.2}, loads: []load{{16, 22}, {7, 38}, {146, 13}}, seed: 62, to: 40,
		rows: []columns{{0, "V1 V2 V3", "f32", 1}, {6, "I1 I2 I3", "f32", 1}, {12, "P1 P2 P3 Pt", "f32", 1}}}
	im := h.image(t)
	for _, names := range []string{"", "I1", "P1", "V1 I1 P1"} {
		if r := Understand(im, h.shown(names)); r.Settled {
			require.Equal(t, 3, r.Channels, names)
		}
	}
}
