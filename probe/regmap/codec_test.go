package regmap

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"legwork/probe/reading"
)

// words is a bank that keeps what is written, for reading back as blocks.
type words map[Table]map[uint16]uint16

func (w words) SetWords(t Table, address uint16, ws []uint16) {
	if w[t] == nil {
		w[t] = map[uint16]uint16{}
	}
	for i, x := range ws {
		w[t][address+uint16(i)] = x
	}
}

func (w words) answer(plan []Request) []Block {
	blocks := make([]Block, len(plan))
	for i, r := range plan {
		blocks[i].Request = r
		for a := range r.Count {
			blocks[i].Words = append(blocks[i].Words, w[r.Table][r.Address+a])
		}
	}
	return blocks
}

// MODBUS Application Protocol V1.1b3, 6.3: registers 108-110 hold 555, 0, 100.
func TestStandardsExampleAsPoints(t *testing.T) {
	m, err := Parse("m.yaml", []byte(`legwork-map: 1
points:
  voltage.1: {at: 0x6B, type: u16, scale: 0.1}
  current.1: {at: 108, type: u16}
  power.1: {at: 109, type: u16, unit: kW}
`))
	require.NoError(t, err)
	require.Equal(t, []Request{{Holding, 107, 3}}, m.Plan(Limits{}))
	var r reading.Reading
	m.Decode([]Block{{Request{Holding, 107, 3}, []uint16{555, 0, 100}}}, &r)
	require.InDelta(t, 55.5, r.Channels[0].Voltage.Or(0), 1e-9)
	require.Equal(t, reading.Known(0.0), r.Channels[0].Current)
	require.InDelta(t, 100e3, r.Channels[0].Power.Or(0), 1e-9)
}

// IEEE 754: 120.5 is 0x42F10000.
func TestFloatInEveryOrder(t *testing.T) {
	for order, ws := range map[Order][]uint16{
		ABCD: {0x42F1, 0x0000}, CDAB: {0x0000, 0x42F1}, BADC: {0xF142, 0x0000}, DCBA: {0x0000, 0xF142},
	} {
		require.Equal(t, 120.5, numberOf(bitsOf(ws, order), F32), order)
		require.Equal(t, ws, wordsOf(0x42F10000, 2, order), order)
	}
	require.Equal(t, uint64(0x0102030405060708), bitsOf([]uint16{0x0708, 0x0506, 0x0304, 0x0102}, CDAB))
	require.Equal(t, uint64(0x0102030405060708), bitsOf([]uint16{0x0807, 0x0605, 0x0403, 0x0201}, DCBA))
}

func TestWhatIsAbsentIsUnknown(t *testing.T) {
	m, err := Parse("m.yaml", []byte(`legwork-map: 1
points:
  voltage.1: {at: 0, type: f32}
  current.1: {at: 2, type: u16, absent: 0xFFFF}
  power.1: {at: 3, type: s16, absent: [-32768, 0x7FFF], exponent_at: 4}
  angle.1: {at: 5, type: f32, absent: -999}
`))
	require.NoError(t, err)
	read := func(ws ...uint16) reading.Channel {
		var r reading.Reading
		m.Decode([]Block{{Request{Holding, 0, 7}, ws}}, &r)
		return r.Channels[0]
	}
	gone := read(0x7FC0, 0, 0xFFFF, 0x8000, 0, 0xC479, 0xC000)
	require.Equal(t, reading.Channel{}, gone)
	require.False(t, read(0, 0, 0, 1, 0x8000, 0, 0).Power.Known(), "an exponent that isn't there")
	require.InDelta(t, -12000, read(0, 0, 0, 0xFFF4, 3, 0, 0).Power.Or(0), 1e-9)
}

func TestSignsBecomeOurs(t *testing.T) {
	m, err := Parse("m.yaml", []byte(`legwork-map: 1
points:
  voltage.1: {at: 0, type: u16}
  current.1: {at: 1, type: u16}
  power.1: {at: 2, type: s16, positive: export}
  reactive.1: {at: 3, type: u16}
  angle.1: {at: 4, type: s16, positive: lead}
  voltage_angle.1: {at: 5, type: u16, positive: lag}
  current_angle.1: {at: 6, type: u16}
  pf.1: {at: 7, type: s16, scale: 0.001, sign: lead}
`))
	require.NoError(t, err)
	var r reading.Reading
	m.Decode([]Block{{Request{Holding, 0, 8}, []uint16{120, 10, 0xFF38, 50, 30, 240, 330, 900}}}, &r)
	c := r.Channels[0]
	require.Equal(t, 200.0, c.Power.Or(0))
	require.True(t, c.ReactiveUnsigned)
	require.Equal(t, reading.Angle(-30), c.Angle.Or(0))
	require.Equal(t, reading.Angle(120), c.VoltageAngle.Or(0))
	require.Equal(t, reading.Angle(-30), c.CurrentAngle.Or(0))
	require.InDelta(t, -0.9, c.PowerFactor.Or(0), 1e-12)
	require.Equal(t, reading.SignTellsLagging, c.PowerFactorSign)
}

// Decode after Encode gives the value back to half a step.
func TestDecodeAfterEncode(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		kind := rapid.SampledFrom([]Type{S16, S32, S64, F32, F64}).Draw(t, "type")
		order := rapid.SampledFrom([]Order{ABCD, CDAB, BADC, DCBA}).Draw(t, "order")
		scale := rapid.SampledFrom([]float64{1, 0.1, 0.25, -0.5}).Draw(t, "scale")
		offset := rapid.SampledFrom([]float64{0, 10, -3.5}).Draw(t, "offset")
		positive := rapid.SampledFrom([]string{"import", "export"}).Draw(t, "positive")
		x := rapid.Float64Range(-3000, 3000).Draw(t, "watts")
		m, err := Parse("m.yaml", fmt.Appendf(nil, `legwork-map: 1
order: %s
points:
  voltage.1: {at: 0, type: f32}
  current.1: {at: 2, type: f32}
  power.1: {at: 4, type: %s, scale: %g, offset: %g, positive: %s}
`, order, kind, scale, offset, positive))
		if err != nil {
			t.Fatal(err)
		}
		in := reading.Reading{Channels: []reading.Channel{{Power: reading.Known(x)}}}
		bank := words{}
		m.Encode(&in, bank)
		var out reading.Reading
		m.Decode(bank.answer(m.Plan(Limits{})), &out)
		step := math.Abs(scale) / 2
		if kind == F32 || kind == F64 {
			step = 1e-3
		}
		got, ok := out.Channels[0].Power.Get()
		if !ok || math.Abs(got-x) > step+1e-9 {
			t.Fatalf("%g came back as %g", x, got)
		}
		if out.Channels[0].Voltage.Known() {
			t.Fatal("an unknown voltage came back known")
		}
	})
}

func TestExponentIsShared(t *testing.T) {
	m, err := Parse("m.yaml", []byte(`legwork-map: 1
points:
  voltage.1: {at: 0, type: u16, exponent_at: 9}
  voltage.2: {at: 1, type: u16, exponent_at: 9}
  current.1: {at: 2, type: u16, exponent_at: 10}
  power.1: {at: 3, type: s16, exponent_at: 11}
`))
	require.NoError(t, err)
	in := reading.Reading{Channels: []reading.Channel{
		{Voltage: reading.Known(119.8), Current: reading.Known(12.34), Power: reading.Known(-1.5e6)}, {Voltage: reading.Known(277.1)}}}
	bank := words{}
	m.Encode(&in, bank)
	var out reading.Reading
	m.Decode(bank.answer(m.Plan(Limits{})), &out)
	require.InDelta(t, 119.8, out.Channels[0].Voltage.Or(0), 0.01)
	require.InDelta(t, 277.1, out.Channels[1].Voltage.Or(0), 0.01)
	require.InDelta(t, 12.34, out.Channels[0].Current.Or(0), 0.01)
	require.InDelta(t, -1.5e6, out.Channels[0].Power.Or(0), 100)
}

func TestIntegersSaturate(t *testing.T) {
	require.Equal(t, uint64(0xFFFF), integerBits(70000, U16))
	require.Equal(t, uint64(0), integerBits(-5, U16))
	require.Equal(t, uint64(0x7FFF), integerBits(1e9, S16))
	require.Equal(t, uint64(0x8000), integerBits(-1e9, S16))
	require.Equal(t, ^uint64(0), integerBits(1e30, U64))
	require.Equal(t, uint64(1)<<63, integerBits(-1e30, S64))
}

func BenchmarkDecode(b *testing.B) {
	m := parseFile(b, "testdata/kiln.yaml")
	blocks := words{}.answer(m.Plan(Limits{}))
	var r reading.Reading
	b.ReportAllocs()
	for b.Loop() {
		m.Decode(blocks, &r)
	}
}
