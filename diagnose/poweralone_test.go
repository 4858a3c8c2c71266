package diagnose_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"legwork/diagnose"
	"legwork/probe/reading"
)

// Panels that are wired right, of a meter whose V, I and P are off by 0.2 % each: near
// unity the reactive part, which follows from P alone, moves by more than what is switched,
// and loads between legs are commoner than on average. Each was once called a CT on the
// neutral, at 93 to 99.9 %, with a move.
func TestRightPanelsByPowerAlone(t *testing.T) {
	panels := map[string][]reading.Reading{}
	services := map[string]string{}
	for _, row := range rowsOf(t, "right_power_alone.csv")[1:] {
		name, n := row[0], int(number(t, row[2]))
		services[name] = row[1]
		if len(panels[name]) < n {
			panels[name] = append(panels[name], reading.Reading{At: time.Date(2026, 5, 4, 9, 30, 30*n, 0, time.UTC)})
		}
		r := &panels[name][n-1]
		c := reading.Channel{}
		for i, v := range []*reading.Value{&c.Voltage, &c.Current, &c.Power} {
			if row[4+i] != "" {
				*v = reading.Known(number(t, row[4+i]))
			}
		}
		r.Channels = append(r.Channels, c)
	}
	agrees := 0
	for name, all := range panels {
		r := diagnose.Diagnose(all, diagnose.Options{Tables: tables, Service: services[name]})
		require.NotEqual(t, diagnose.Fault, r.Verdict, "%s: %s", name, r.Summary)
		if r.Verdict == diagnose.Agrees {
			agrees++
		}
	}
	require.Greater(t, agrees, 4)
}
