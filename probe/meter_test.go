package probe

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"legwork/probe/link"
	"legwork/probe/reading"
	"legwork/probe/regmap"
)

// The kiln house feeder with a gap that no register fills, and one without.
const (
	gapMap = `legwork-map: 1
unit: 7
points:
  voltage.1: {at: 0, type: u16, scale: 0.1}
  current.1: {at: 1, type: u16, scale: 0.1}
  power.1: {at: 10, type: s16}
  frequency: {at: 11, type: u16, scale: 0.01}
`
	closeMap = `legwork-map: 1
table: input
points:
  voltage.1: {at: 0, type: u16, scale: 0.1}
  current.1: {at: 1, type: u16, scale: 0.1}
  power.1: {at: 2, type: s16}
`
)

// bank is a meter on a fake link: each answer takes 10 ms, and registers that
// it lacks are refused.
type bank struct {
	link.Conn
	registers map[uint16]uint16
	refusal   link.Exception
	broken    error
	most      int  // registers in one request; 0 is any
	mute      bool // no answer beyond them
	refused   int
	now       time.Time
	asked     []link.Read
}

func (b *bank) Registers(_ context.Context, r link.Read) ([]uint16, error) {
	b.asked = append(b.asked, r)
	b.now = b.now.Add(10 * time.Millisecond)
	if b.broken != nil {
		return nil, b.broken
	}
	tooLong := b.most != 0 && int(r.Count) > b.most
	if tooLong && b.mute {
		b.refused++
		return nil, &link.Error{Op: "read", Place: "tcp kiln-house:502", Unit: r.Unit, Function: r.Function,
			Address: r.Address, Count: r.Count, Tries: 1, Err: link.NoAnswer{After: time.Second}}
	}
	var words []uint16
	for a := range r.Count {
		w, ok := b.registers[r.Address+a]
		if !ok || tooLong {
			b.refused++
			return nil, &link.Error{Op: "read", Place: "tcp kiln-house:502", Unit: r.Unit, Function: r.Function,
				Address: r.Address, Count: r.Count, Tries: 1, Err: b.refusal}
		}
		words = append(words, w)
	}
	return words, nil
}

var noon = time.Date(2026, 5, 4, 12, 0, 0, 0, time.UTC)

func newBank(t testing.TB, text string, registers map[uint16]uint16) (*bank, *Meter) {
	m, err := regmap.Parse("kiln.yaml", []byte(text))
	require.NoError(t, err)
	b := &bank{registers: registers, refusal: link.IllegalDataAddress, now: noon}
	return b, NewMeter(b, m, MeterOptions{Service: "120", Now: func() time.Time { return b.now }})
}

func TestReadingOfOneBlock(t *testing.T) {
	b, m := newBank(t, closeMap, map[uint16]uint16{0: 1201, 1: 105, 2: 0xFFFE})
	r, err := m.Read(t.Context())
	require.NoError(t, err)
	require.Equal(t, reading.Reading{At: noon.Add(5 * time.Millisecond), Service: "120", Channels: r.Channels}, r)
	require.InDelta(t, 120.1, r.Channels[0].Voltage.Or(0), 1e-9)
	require.Equal(t, reading.Known(-2.0), r.Channels[0].Power)
	require.Equal(t, []link.Read{{Unit: 1, Function: link.ReadInput, Address: 0, Count: 3}}, b.asked)
	require.Equal(t, []regmap.Block{{Request: regmap.Request{Table: regmap.Input, Address: 0, Count: 3}, Words: []uint16{1201, 105, 0xFFFE}}}, m.Blocks())
}

// The reading of before is the caller's.
func TestReadingsOfAMeterAreKept(t *testing.T) {
	b, m := newBank(t, closeMap, map[uint16]uint16{0: 1201, 1: 105, 2: 5})
	before, err := m.Read(t.Context())
	require.NoError(t, err)
	b.registers[2] = 6
	_, err = m.Read(t.Context())
	require.NoError(t, err)
	require.Equal(t, reading.Known(5.0), before.Channels[0].Power)
}

func TestMeterThatRefusesTheGap(t *testing.T) {
	for _, refusal := range []link.Exception{link.IllegalDataAddress, link.IllegalDataValue} {
		t.Run(refusal.Error(), func(t *testing.T) {
			b, m := newBank(t, gapMap, map[uint16]uint16{0: 1201, 1: 105, 10: 0xFFFE, 11: 6000})
			b.refusal = refusal
			require.Equal(t, []regmap.Request{{Table: regmap.Holding, Address: 0, Count: 12}}, m.Plan())
			r, err := m.Read(t.Context())
			require.NoError(t, err)
			require.Equal(t, reading.Known(-2.0), r.Channels[0].Power)
			require.Equal(t, 10*time.Millisecond, r.Skew)
			require.Equal(t, noon.Add(20*time.Millisecond), r.At, "the middle of the second exchange")
			require.Len(t, b.asked, 3, "once with the gap, twice without")

			_, err = m.Read(t.Context())
			require.NoError(t, err)
			require.Len(t, b.asked, 5, "the gap isn't tried again")
			require.Len(t, m.Plan(), 2)
		})
	}
}

func TestMeterThatLacksAPoint(t *testing.T) {
	tests := []struct {
		name, text string
		registers  map[uint16]uint16
		refusal    link.Exception
		asked      int
		want       string
	}{
		{"behind the gap", gapMap, map[uint16]uint16{0: 1201, 1: 105, 10: 5}, link.IllegalDataAddress, 7,
			"tcp kiln-house:502: unit 7, holding register 11: exception 2 (illegal data address); " +
				"check addresses and numbering of the register map (the map has frequency there)"},
		{"where there is no gap", closeMap, map[uint16]uint16{0: 1201}, link.IllegalDataAddress, 3,
			"tcp kiln-house:502: unit 1, input register 1: exception 2 (illegal data address); " +
				"check addresses and numbering of the register map (the map has current.1 there)"},
		{"for want of the table", closeMap, nil, link.IllegalFunction, 1,
			"tcp kiln-house:502: unit 1, input registers 0-2: exception 1 (illegal function); " +
				"the other table, holding or input, may be the right one (the map has voltage.1, current.1, power.1 there)"},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			b, m := newBank(t, test.text, test.registers)
			b.refusal = test.refusal
			_, err := m.Read(t.Context())
			require.EqualError(t, err, test.want)
			require.ErrorAs(t, err, new(*link.Error))
			require.Len(t, b.asked, test.asked)
		})
	}
}

// manyMap has 12 values of 2 registers with a gap in their midst, and a text.
func manyMap() string {
	text := "legwork-map: 1\npoints:\n"
	at := 0
	for _, q := range []string{"voltage", "current", "power", "angle"} {
		for channel := 1; channel <= 3; channel++ {
			text += fmt.Sprintf("  %s.%d: {at: %d, type: f32}\n", q, channel, at)
			at += 2
			if at == 12 {
				at += 4
			}
		}
	}
	return text + "  serial: {at: 28, type: text, length: 14}\n"
}

// A meter that takes so many registers at most, and says so by exception 3 or,
// as some do, 2, is read on in shorter requests, and they stay short.
func TestMeterThatTakesShortBlocks(t *testing.T) {
	for _, refusal := range []link.Exception{link.IllegalDataValue, link.IllegalDataAddress} {
		for _, most := range []int{27, 20, 12, 7, 4, 2} {
			t.Run(fmt.Sprintf("%d at most, %v", most, refusal), func(t *testing.T) {
				registers := map[uint16]uint16{}
				for a := range uint16(42) {
					registers[a] = 'K'<<8 | 'H'
				}
				b, m := newBank(t, manyMap(), registers)
				b.refusal, b.most = refusal, most
				r, err := m.Read(t.Context())
				require.NoError(t, err)
				require.Equal(t, strings.Repeat("KH", 14), r.Serial, "a text may come in pieces")
				require.LessOrEqual(t, len(b.asked), 48)
				kept := m.Plan()
				b.asked, b.refused = nil, 0
				_, err = m.Read(t.Context())
				require.NoError(t, err)
				require.Zero(t, b.refused, "no length is tried again that was refused")
				require.Len(t, b.asked, len(kept))
			})
		}
	}
}

// Behind some gateways what is too long gets no answer at all. That is found out
// once, and a meter that answers nothing costs one more question.
func TestGatewayThatDropsLongRequests(t *testing.T) {
	registers := map[uint16]uint16{}
	for a := range uint16(42) {
		registers[a] = 1
	}
	b, m := newBank(t, manyMap(), registers)
	b.most, b.mute = 16, true
	_, err := m.Read(t.Context())
	require.NoError(t, err)
	b.asked, b.refused = nil, 0
	_, err = m.Read(t.Context())
	require.NoError(t, err)
	require.Zero(t, b.refused)

	b.asked, b.most = nil, -1 // silent from now on
	_, err = m.Read(t.Context())
	require.ErrorAs(t, err, new(link.NoAnswer))
	require.Len(t, b.asked, 1, "the length was right before")

	b, m = newBank(t, manyMap(), registers)
	b.most, b.mute = -1, true
	_, err = m.Read(t.Context())
	require.ErrorAs(t, err, new(link.NoAnswer))
	require.Len(t, b.asked, 2)
}

// What a meter refuses however it is asked costs the next reading no more, and
// leaves the plan as it was.
func TestMeterThatRefusesEverything(t *testing.T) {
	b, m := newBank(t, manyMap(), nil)
	before := m.Plan()
	var asked []int
	for range 3 {
		b.asked = nil
		_, err := m.Read(t.Context())
		require.ErrorIs(t, err, link.IllegalDataAddress)
		require.ErrorContains(t, err, "(the map has voltage.1 there)")
		asked = append(asked, len(b.asked))
		require.Equal(t, before, m.Plan())
	}
	require.Equal(t, []int{5, 5, 5}, asked)
}

func TestMeterThatIsSilent(t *testing.T) {
	b, m := newBank(t, gapMap, nil)
	b.broken = errors.New("silence")
	_, err := m.Read(t.Context())
	require.EqualError(t, err, "silence")
	require.Len(t, b.asked, 1)
	require.Empty(t, m.Blocks())
}

func TestUnitOfAMeter(t *testing.T) {
	tests := []struct {
		name, text string
		option     int
		want       byte
	}{
		{"the map's", gapMap, 0, 7},
		{"the option's before the map's", gapMap, 255, 255},
		{"1 where nothing is said", closeMap, 0, 1},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			m, err := regmap.Parse("kiln.yaml", []byte(test.text))
			require.NoError(t, err)
			require.Equal(t, test.want, NewMeter(nil, m, MeterOptions{Unit: test.option}).Unit())
		})
	}
}

// Reads of a meter cost little beside the exchange: the reading's channels are
// all that is made anew here.
func BenchmarkMeter(b *testing.B) {
	m, err := regmap.Parse("kiln.yaml", []byte(closeMap))
	require.NoError(b, err)
	meter := NewMeter(still{words: []uint16{1201, 105, 5}}, m, MeterOptions{})
	b.ReportAllocs()
	for b.Loop() {
		if _, err := meter.Read(b.Context()); err != nil {
			b.Fatal(err)
		}
	}
}

// still is a link that always says the same.
type still struct {
	link.Conn
	words []uint16
}

func (s still) Registers(context.Context, link.Read) ([]uint16, error) { return s.words, nil }
