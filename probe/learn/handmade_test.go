package learn

import (
	"fmt"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"legwork/probe/learn/image"
	"legwork/probe/reading"
	"legwork/probe/regmap"
)

// Meters written by hand, with a model of their own: what the simulator's layouts have
// not. Legs and loads are invented.

// load is the current of a leg, A, and by how many degrees it lags.
type load struct{ amperes, degrees float64 }

// handmade is a meter and what it measures.
type handmade struct {
	volts    []float64 // of every leg
	loads    []load
	reversed []int // CTs, from 1
	seed     uint64
	rows     []columns
	table    regmap.Table
	order    regmap.Order
	gaps     uint16 // what registers between hold
	from, to int    // the block
	last     map[string]float64
}

// columns are values one after another from an address on.
type columns struct {
	at    int
	names string // "-" leaves room for one
	typ   string
	scale float64
}

// values are what the meter measures at second n.
func (h *handmade) values(t float64, rng *rand.Rand) map[string]float64 {
	q := map[string]float64{}
	n := float64(len(h.volts))
	var neutral complex128
	for k, volts := range h.volts {
		turn := -float64(k) * 2 * math.Pi / 3
		if len(h.volts) == 2 {
			turn = -float64(k) * math.Pi
		}
		v := volts * (1 + 0.002*math.Sin(t/17+float64(k)) + 0.0006*rng.NormFloat64())
		i := h.loads[k].amperes * (1 + 0.03*math.Sin(t/float64(11+5*k)+2*float64(k)) + 0.002*rng.NormFloat64())
		phi := h.loads[k].degrees*math.Pi/180 + 0.026*math.Sin(t/13+float64(k))
		sign := 1.
		for _, r := range h.reversed {
			if r == k+1 {
				sign = -1
			}
		}
		p, r := sign*v*i*math.Cos(phi), sign*v*i*math.Sin(phi)
		neutral += cmplx.Rect(sign*i, turn-phi)
		one := map[string]float64{"V": v, "I": i, "P": p, "Q": r, "S": v * i, "PF": p / v / i, "AP": math.Abs(p)}
		one["IM"], one["EX"] = math.Max(p, 0), math.Max(-p, 0) // imported, exported
		for name, x := range one {
			q[fmt.Sprint(name, k+1)] = x
			q[name+"t"] += x
			q[name+"avg"] += x / n
		}
		q[fmt.Sprint("DIR", k+1)] = map[bool]float64{true: 1}[p < 0]
	}
	q["PFt"] = q["Pt"] / math.Hypot(q["Pt"], q["Qt"])
	q["In"], q["F"], q["E"] = cmplx.Abs(neutral), 60+0.01*rng.NormFloat64(), 12345.678+t/3600
	q["still"], q["little"] = 12641.678, 3.21+t/1300
	return q
}

// image reads the meter five times over.
func (h *handmade) image(t *testing.T) *image.Image {
	if testing.Short() {
		t.Skip("one goroutine understands an image: there is nothing to race")
	}
	rng := rand.New(rand.NewPCG(h.seed, 1))
	b := image.Block{Table: h.table, At: h.from}
	im := &image.Image{}
	for r := range 5 {
		now := h.values(float64(h.seed)+float64(r)*1.1, rng)
		h.last = now
		words := make([]uint16, h.to-h.from)
		for i := range words {
			words[i] = h.gaps
		}
		for _, row := range h.rows {
			at := row.at
			for name := range strings.FieldsSeq(row.names) {
				x, is := now[name]
				require.True(t, is || name == "-", name)
				some := h.encode(row.typ, x/row.scale)
				if name != "-" {
					copy(words[at-h.from:], some)
				}
				at += len(some)
			}
		}
		b.Rounds = append(b.Rounds, words)
		im.Times = append(im.Times, time.Unix(int64(r), 0))
	}
	im.Blocks = []image.Block{b}
	return im
}

// encode makes words of a value: bits by hand, apart from package regmap.
func (h *handmade) encode(typ string, x float64) []uint16 {
	var bits uint64
	size := 1
	whole := math.Floor(x + 0.5)
	switch typ {
	case "u16", "s16":
		bits = uint64(uint16(int64(whole)))
	case "magnitude": // 16 bits, the highest of which is the sign
		if bits = uint64(math.Abs(whole)); x < 0 {
			bits |= 0x8000
		}
	case "u32", "s32":
		bits, size = uint64(uint32(int64(whole))), 2
	case "f32":
		bits, size = uint64(math.Float32bits(float32(x))), 2
	case "f64":
		bits, size = math.Float64bits(x), 4
	default:
		panic(typ)
	}
	words := make([]uint16, size)
	for i := range words {
		w := uint16(bits >> (16 * (size - 1 - i)))
		if bytesExchanged(h.order) {
			w = w<<8 | w>>8
		}
		words[i] = w
	}
	if h.order == regmap.CDAB || h.order == regmap.DCBA {
		for i, j := 0, size-1; i < j; i, j = i+1, j-1 {
			words[i], words[j] = words[j], words[i]
		}
	}
	return words
}

// shown is what instruments show that are right, at the last of the rounds.
func (h *handmade) shown(names string) []Measured {
	quantities := map[string]reading.Quantity{"V": reading.Voltage, "I": reading.Current, "P": reading.Power}
	var all []Measured
	for name := range strings.FieldsSeq(names) {
		p := reading.Point{Quantity: reading.TotalPower}
		if k := name[len(name)-1]; k >= '1' && k <= '3' {
			p = reading.Point{Quantity: quantities[name[:len(name)-1]], Index: int(k - '0')}
		}
		all = append(all, Shows(p, h.last[name]))
	}
	return all
}
