package source

import (
	"fmt"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"legwork/probe"
	"legwork/probe/link"
	"legwork/probe/reading"
	"legwork/probe/regmap"
	"legwork/sim"
	"legwork/sim/serve"
)

// beside is a place at one instant, whose meter holds its own registers and a
// SunSpec model.
func beside(t *testing.T, place string, model int, most int) (*serve.Server, *regmap.Map, string) {
	p, err := sim.Open(place, sim.Options{Seed: 3})
	require.NoError(t, err)
	own, err := regmap.Parse(p.Map())
	require.NoError(t, err)
	bank := serve.NewBank()
	image, err := sunspecImage(bank, model)
	require.NoError(t, err)
	r := p.At(time.Date(2026, 5, 4, 9, 30, 0, 0, time.UTC))
	bank.Update(func(w serve.Writer) {
		own.Encode(&r, w)
		image.Encode(&r, w)
	})
	s := serve.New(map[byte]*serve.Unit{byte(max(own.Unit, 1)): {Bank: bank, MostRegisters: most}})
	t.Cleanup(func() { _ = s.Close() })
	at, err := s.ListenTCP("127.0.0.1:0")
	require.NoError(t, err)
	return s, own, fmt.Sprintf("tcp://%s/%d", at, max(own.Unit, 1))
}

// Every meter model reads as the place's own map does, within half a step of
// either; what a model lacks is unknown.
func TestSunSpecReadsAsTheOwnMap(t *testing.T) {
	for _, place := range []string{"kiln-house", "cottage-bakery"} {
		for _, model := range []int{201, 202, 203, 204, 211, 212, 213, 214} {
			for _, most := range []int{0, 40} {
				t.Run(fmt.Sprintf("%s, model %d, blocks of %d", place, model, most), func(t *testing.T) {
					_, own, meter := beside(t, place, model, most)
					a, err := Parse(meter)
					require.NoError(t, err)
					s, err := Open(t.Context(), a, Options{Map: "sunspec", Timeout: 2 * time.Second})
					require.NoError(t, err)
					defer s.Close()
					told := s.(*Meter)
					got, err := told.Next(t.Context())
					require.NoError(t, err)

					l, err := link.DialTCP(t.Context(), a.Host, link.Options{})
					require.NoError(t, err)
					defer l.Close()
					ownMeter := probe.NewMeter(l, own, probe.MeterOptions{Unit: a.Unit})
					want, err := ownMeter.Read(t.Context())
					require.NoError(t, err)

					wantPhases := map[int]int{1: 1, 2: 2, 3: 3, 4: 3}[model%10]
					require.Len(t, got.Channels, wantPhases)
					compared := 0
					for _, p := range told.Map.Points() {
						x, known := want.Number(p.Point).Get()
						if p.Quantity.IsText() || !known {
							continue
						}
						compared++
						y, known := got.Number(p.Point).Get()
						if isEnergy(p.Quantity) && x == 0 {
							continue // an accumulator of 0 is none
						}
						require.True(t, known, p.String())
						if p.Quantity == reading.PowerFactor {
							x = math.Abs(x) // the model's sign tells nothing certain
						}
						require.InDelta(t, x, y, stepOf(p, told.Blocks())+ownStep(own, p.Point)+1e-6*math.Abs(x), p.String())
					}
					require.Greater(t, compared, 5*min(wantPhases, len(want.Channels)))
				})
			}
		}
	}
}

func isEnergy(q reading.Quantity) bool {
	switch q {
	case reading.EnergyImport, reading.EnergyExport, reading.TotalEnergyImport, reading.TotalEnergyExport:
		return true
	}
	return false
}

// stepOf is half a step of a SunSpec register, in SI.
func stepOf(p regmap.Point, blocks []regmap.Block) float64 {
	if p.ExponentAt < 0 {
		return 0
	}
	for _, b := range blocks {
		if i := p.ExponentAt - int(b.Address); b.Table == p.Table && i >= 0 && i < len(b.Words) {
			return 0.5 * p.Factor * math.Pow10(int(int16(b.Words[i])))
		}
	}
	return math.Inf(1)
}

// ownStep is half a step of the own map's register.
func ownStep(m *regmap.Map, q reading.Point) float64 {
	for _, p := range m.Points() {
		if p.Point == q && p.Type != regmap.F32 {
			return 0.5 * math.Abs(p.Scale*p.Factor)
		}
	}
	return 0
}

func TestSunSpecThatCantBeRead(t *testing.T) {
	bank := serve.NewBank()
	bank.Update(func(w serve.Writer) { w.SetWords(regmap.Holding, 40000, []uint16{0x5375, 0x6E53, 0xFFFF, 0}) })
	bare := serve.NewBank()
	s := serve.New(map[byte]*serve.Unit{1: {Bank: bank}, 2: {Bank: bare}})
	t.Cleanup(func() { _ = s.Close() })
	at, err := s.ListenTCP("127.0.0.1:0")
	require.NoError(t, err)
	for unit, want := range map[int]string{1: "hold no meter", 2: "no SunSpec marker", 3: "no answer within"} {
		a, err := Parse(fmt.Sprintf("tcp://%s/%d", at, unit))
		require.NoError(t, err)
		_, err = Open(t.Context(), a, Options{Map: "sunspec", Timeout: 50 * time.Millisecond})
		require.ErrorAs(t, err, new(Unread), "the meter, not the command")
		require.ErrorContains(t, err, want)
		require.ErrorContains(t, err, at.String(), "the place is told")
	}
}
