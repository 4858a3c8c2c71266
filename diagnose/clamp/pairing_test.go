package clamp

import (
	"testing"

	"github.com/stretchr/testify/require"

	"legwork/diagnose"
	"legwork/probe/reading"
)

// ofAmps is a sample of three channels; a current below zero isn't read.
func ofAmps(amps ...float64) reading.Reading {
	var r reading.Reading
	for _, a := range amps {
		c := reading.Channel{Voltage: reading.Known(120.0)}
		if a >= 0 {
			c.Current = reading.Known(a)
		}
		r.Channels = append(r.Channels, c)
	}
	return r
}

func TestPairings(t *testing.T) {
	for name, c := range map[string]struct {
		amps  []float64
		reads []string
		want  []string
	}{
		"each current has its own size": {[]float64{40, 60, 90}, []string{"leg 1: 40.2 A", "leg 3: 89.8 A"},
			[]string{"ct 1 on leg 1", "ct 3 on leg 3"}},
		"two legs carry nearly the same": {[]float64{40, 44, 90}, []string{"leg 1: 40.2 A", "leg 3: 89.8 A"},
			[]string{"ct 3 on leg 3"}},
		"the channels of two legs are exchanged": {[]float64{60, 40, 90}, []string{"leg 1: 40.0 A", "leg 2: 60.0 A"},
			[]string{}},
		"a CT of half its ratio":                  {[]float64{20, 60, 90}, []string{"leg 1: 40.0 A"}, []string{}},
		"another channel isn't read":              {[]float64{40, -1, 90}, []string{"leg 1: 40.0 A"}, []string{}},
		"a voltage says nothing of where a CT is": {[]float64{40, 60, 90}, []string{"leg 1: 120.0 V"}, []string{}},
	} {
		t.Run(name, func(t *testing.T) {
			reads, err := ParseReads(c.reads)
			require.NoError(t, err)
			samples := []reading.Reading{ofAmps(c.amps...), ofAmps(c.amps...)}
			got := Pairings(Compare(samples, reads, Options{Accuracy: defaultCurrent(), VoltAccuracy: defaultVoltage()}),
				samples)
			require.Equal(t, c.want, got)
			for _, text := range got {
				_, err := diagnose.ParseFinding(text)
				require.NoError(t, err)
			}
		})
	}
	require.Empty(t, Pairings(Result{Channels: []Compared{{Quantity: "current", Channel: 1, Leg: 1, State: Right}}}, nil),
		"without samples")
}
