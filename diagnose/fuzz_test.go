package diagnose_test

import (
	"encoding/binary"
	"encoding/json"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"legwork/diagnose"
	"legwork/diagnose/wiring"
	"legwork/probe/reading"
)

// strange makes a reading of any bytes, with any quantities known.
func strange(in []byte) reading.Reading {
	next := func() float64 {
		if len(in) < 8 {
			return 120
		}
		x := math.Float64frombits(binary.LittleEndian.Uint64(in))
		in = in[8:]
		return x
	}
	var r reading.Reading
	for range int(math.Abs(math.Mod(next(), 4))) {
		r.Channels = append(r.Channels, reading.Channel{})
	}
	for _, p := range reading.Points() {
		if len(in) > 0 && in[0]&1 == 1 {
			r.SetNumber(p, reading.Known(next()))
		} else if len(in) > 0 {
			in = in[1:]
		}
	}
	for k := range r.Channels {
		r.Channels[k].PowerFactorSign = reading.PowerFactorSign(len(in) % 3)
		r.Channels[k].ReactiveUnsigned = len(in)%2 == 1
	}
	return r
}

func FuzzVerdict(f *testing.F) {
	f.Add([]byte{0, 0, 0, 0, 0, 0, 0xF0, 0x7F, 1, 2, 3}, 0)
	f.Add([]byte("\x00\x00\x00\x00\x00\x00\x08@\x01\x00\x00\x00\x00\x00^@"), 4)
	f.Fuzz(func(t *testing.T, in []byte, service int) {
		all := append([]wiring.Service{{}}, wiring.Services()...)
		name := all[uint(service)%uint(len(all))].Name
		r := diagnose.Diagnose([]reading.Reading{strange(in)}, diagnose.Options{Tables: tables, Service: name})
		requireSound(t, r)
	})
}

// Several readings of one meter, as odd as they may be, and one of them again in between.
func FuzzSeries(f *testing.F) {
	f.Add([]byte("\x00\x00\x00\x00\x00\x00\x08@\x01\x00\x00\x00\x00\x00^@"), []byte{0, 0, 0, 0, 0, 0, 0xF0, 0x7F}, []byte{}, uint16(900))
	f.Fuzz(func(t *testing.T, one, two, three []byte, seconds uint16) {
		c := diagnose.New(diagnose.Options{Tables: tables})
		at := time.Date(2026, 5, 4, 9, 30, 0, 0, time.UTC)
		for _, in := range [][]byte{one, two, one, one, three, two, one} {
			r := strange(in)
			r.At = at
			at = at.Add(time.Duration(seconds) * time.Second)
			c.Add(r)
		}
		requireSound(t, c.Result())
	})
}

// requireSound holds the laws of every result.
func requireSound(t *testing.T, r diagnose.Result) {
	var sum float64
	last := 1.0
	for _, x := range r.Explanations {
		require.False(t, math.IsNaN(x.Probability), "law 1: probabilities are finite")
		require.LessOrEqual(t, x.Probability, last+1e-9, "law 2: the likeliest comes first")
		last = x.Probability
		sum += x.Probability
		for _, m := range x.Moves {
			require.NotEmpty(t, m.Steps, "law 3: a move says what to do")
		}
	}
	require.LessOrEqual(t, sum, 1+1e-6, "law 4: together they are at most one")
	if r.Verdict == diagnose.Fault {
		require.NotEmpty(t, r.Cautions, "law 5: cautions stand before moves")
	}
	_, err := json.Marshal(r)
	require.NoError(t, err, "law 6: it can be written")
	require.NotEmpty(t, r.Summary, "law 7: it says something")
}
