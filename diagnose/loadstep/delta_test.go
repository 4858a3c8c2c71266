package loadstep

import (
	"testing"

	"github.com/stretchr/testify/require"

	"legwork/diagnose/wiring"
	"legwork/probe/reading"
)

// On a three-wire delta a load between legs 1 and 2 flows in a CT on either:
// neither is said to be the one, and no finding names one that only bears it.
func TestLedLoadStepOnADelta(t *testing.T) {
	channel := func(amps, watts float64) reading.Channel {
		return reading.Channel{Voltage: reading.Known(480.0), Current: reading.Known(amps), Power: reading.Known(watts)}
	}
	for name, c := range map[string]struct {
		leg   int
		watts float64
		says  string
		seen  []string
	}{
		"its own channel, plain power": {1, 2000,
			"as it should; a CT on leg 2 would take it too", []string{"leg 1 on: channel 1 up"}},
		"its own channel, power unplain": {1, 40,
			"as it should; a CT on leg 2 would take it too", []string{}},
		"the other channel, plain power": {3, -2000,
			"CT 1 sits on leg 3 or on leg 2, which carries the same load", []string{"leg 3 on: channel 1 down"}},
		"the other channel, power unsure": {3, -40,
			"CT 1 sits on leg 3 or on leg 2", []string{}},
	} {
		t.Run(name, func(t *testing.T) {
			b := newBench(t, panel{service: "480D"}, c.leg)
			b.add(6, channel(5, 1000), channel(5, 1000))
			b.add(3, channel(10, 1000+c.watts), channel(5, 1000))
			require.Contains(t, b.led.Says, c.says)
			require.Equal(t, c.seen, wiring.Sentences(b.led.Findings))
		})
	}
}
