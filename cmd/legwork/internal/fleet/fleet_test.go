package fleet

import (
	"bytes"
	"encoding/json"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"legwork/cmd/legwork/internal/source"
)

func serve100(t *testing.T) *Fleet {
	f, err := Serve(Options{Meters: 120, Wires: 8, Seed: 3})
	require.NoError(t, err)
	t.Cleanup(func() { _ = f.Close() })
	return f
}

// Every manner is in a yard of eight wires, and the truth stays out of the list.
func TestYard(t *testing.T) {
	f := serve100(t)
	require.Len(t, f.Meters, 120)
	manners, wrong := map[Manner]int{}, 0
	for line := range bytes.Lines(f.Truth()) {
		var one Truth
		require.NoError(t, json.Unmarshal(line, &one))
		manners[one.Gateway]++
		if one.Fault != "" {
			wrong++
		}
	}
	for _, m := range []Manner{Plain, Single, Slow, Serial, Mute} {
		require.NotZero(t, manners[m], m)
	}
	require.InDelta(t, 0.25*112, wrong, 15)
	require.NotContains(t, string(f.Sites()), "reversed")
	again, err := Serve(Options{Meters: 120, Wires: 8, Seed: 3})
	require.NoError(t, err)
	t.Cleanup(func() { _ = again.Close() })
	require.Equal(t, f.Truth(), again.Truth(), "the same for the same seed")
}

// The main reads the sum of the suites, whatever is wrong with their meters.
func TestMainReadsTheSum(t *testing.T) {
	f := serve100(t)
	var sum float64
	var main *Meter
	for _, m := range f.Meters {
		if m.Building != "Building 1" {
			continue
		}
		if m.Under == "" {
			main = m
			continue
		}
		m.Place.Advance(time.Now())
		sum += m.Place.Truth().Power
	}
	a, err := source.Parse(main.METER)
	require.NoError(t, err)
	file := t.TempDir() + "/" + main.Map
	writeMap(t, file, f.Maps[main.Map])
	s, err := source.Open(t.Context(), a, source.Options{Map: file})
	require.NoError(t, err)
	defer s.Close()
	r, err := s.Next(t.Context())
	require.NoError(t, err)
	var got float64
	for _, c := range r.Channels {
		got += c.Power.Or(0)
	}
	require.InEpsilon(t, sum, got, 0.05)
}

func TestOrders(t *testing.T) {
	f := serve100(t)
	m := f.Find("suite-1")
	circuit := m.Place.Circuits()[0]
	for order, want := range map[string]string{
		"suite-1 off " + circuit:        "suite-1: circuit " + circuit + " is off",
		"suite-1 on " + circuit:         "suite-1: circuit " + circuit + " is on",
		"suite-1 leg 1 on 1.5kW":        "suite-1: a load of 1500 W is on leg 1",
		"suite-1 leg 1 off":             "suite-1: the load on leg 1 is off",
		"suite-1 fault ct1-reversed":    "suite-1: wired with ct1-reversed",
		"suite-1  ct1-reversed":         "suite-1: wired with ct1-reversed",
		"suite-1 fault ct1-ct2-crossed": "suite-1: wired with ct1-ct2-crossed",
	} {
		got, err := f.Order(order)
		require.NoError(t, err, order)
		require.Equal(t, want, got)
	}
	_, err := f.Order("suite-1 ct1-reversed")
	require.NoError(t, err)
	require.True(t, m.Place.Truth().Turned[0])
	_, err = f.Order("suite-1 fault none")
	require.NoError(t, err)
	require.False(t, m.Place.Truth().Turned[0])
	for order, want := range map[string]string{"suite-1 off sauna": `no circuit "sauna"`,
		"suite-1 fault ct9-reversed": "ct9-reversed", "nobody off x": `no meter "nobody"`, "suite-1": "write a meter",
		"suite-1 up x": "leg 1 on 1.5kW, leg 1 off, off CIRCUIT", "suite-1 leg 9 off": "leg 9: ",
		"suite-1 leg 1 on 1.5 kV": "W is wanted", "suite-1 leg 1 on -3 W": "above 0", "suite-1 leg one off": "write leg 1 on"} {
		_, err := f.Order(order)
		require.ErrorContains(t, err, want, order)
	}
}
