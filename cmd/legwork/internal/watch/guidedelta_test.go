package watch

import (
	"testing"

	"github.com/stretchr/testify/require"

	"legwork/diagnose/wiring"
)

// On a three-wire delta a load between legs 1 and 2 flows in a CT on either:
// neither is said to be the one, and nothing is told that one of them only bears.
func TestLedLoadStepOnADelta(t *testing.T) {
	service, err := wiring.ParseService("480D")
	require.NoError(t, err)
	at := func(amps, watts float64) levels {
		return levels{{amps: amps, volts: 480, watts: watts, known: true, power: true}, {amps: 5, volts: 480, known: true, power: true}}
	}
	for name, c := range map[string]struct {
		leg   int
		watts float64
		says  string
		seen  []string
	}{
		"its own channel, plain power":    {1, 2000, "as it should; a CT on leg 2 would take it too", []string{"leg 1 on: channel 1 up"}},
		"its own channel, power unplain":  {1, 40, "as it should; a CT on leg 2 would take it too", nil},
		"the other channel, plain power":  {3, -2000, "CT 1 sits on leg 3 or on leg 2, which carries the same load", []string{"leg 3 on: channel 1 down"}},
		"the other channel, power unsure": {3, -40, "CT 1 sits on leg 3 or on leg 2", nil},
	} {
		t.Run(name, func(t *testing.T) {
			g := &Guide{Leg: c.leg, Step: Step{From: at(5, 1000), To: at(10, 1000+c.watts), Channels: []int{0}}}
			g.one(0, scene{service: service})
			require.Contains(t, g.Says, c.says)
			require.Equal(t, c.seen, g.Seen)
		})
	}
}
