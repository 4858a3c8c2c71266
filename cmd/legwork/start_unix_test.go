//go:build unix

package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"legwork/cmd/legwork/internal/source"
	"legwork/sim"
)

// mostAnswers is how many answers a person has to give from the box to the verdict.
const mostAnswers = 6

// A meter of which nobody has the registers, wired wrong twice: from its host to
// the verdict at a terminal, broken off in between.
func TestStartInATerminal(t *testing.T) {
	if testing.Short() {
		t.Skip("what learns has tests of its own, which race less long")
	}
	served, err := source.ServeLayout("kiln-house", sim.Options{Fault: "ct2-reversed,ct1-ct3-crossed"}, 7)
	require.NoError(t, err)
	t.Cleanup(func() { _ = served.Server.Close() })
	host, err := served.Server.ListenTCP("127.0.0.1:0")
	require.NoError(t, err)
	t.Chdir(t.TempDir())

	p := &atPanel{t: t}
	x := inTerminal(t, 100, 40, nil, "start", host.String())
	p.answers(x, "Name of the job sheet? [meter.yaml]", "kiln")
	x.shows("It does not follow SunSpec. Learning its registers")
	x.showsWithin(time.Minute, "What ")
	x.types("\x03") // the person goes for the instruments
	x.exits()
	require.Contains(t, x.text(), "What is known is in kiln.yaml; to go on: legwork start kiln.yaml")
	asked := served.Server.Counts().Functions

	x = inTerminal(t, 100, 40, nil, "start")
	x.shows("Going on with kiln.yaml")
	x.shows("Its registers were read at")
	p.measures(x)
	learnt := served.Server.Counts().Functions
	require.Less(t, learnt[3]+learnt[4]-asked[3]-asked[4], 40, "nothing is learnt twice")
	p.answers(x, "Service 120/208Y, by the voltages. Right? Or write which it is [y]", "")
	p.answers(x, "Solar, a battery or a generator behind the meter: none, possible or unknown? [unknown]", "none")
	require.Equal(t, exitAgrees, x.exits())
	text := strings.Join(strings.Fields(x.text()), " ")
	require.Contains(t, text, "FAULT CTs 1 and 3 are crossed; CT 2 is also reversed")
	require.Contains(t, text, "Written: kiln.yaml (job sheet), kiln.map.yaml (register map). Next: legwork watch kiln.yaml")
	require.LessOrEqual(t, p.given, mostAnswers)

	left, err := filepath.Glob("*")
	require.NoError(t, err)
	require.Equal(t, []string{"kiln.map.yaml", "kiln.yaml", "legwork-job.schema.json", "legwork-map.schema.json"}, left,
		"what was read is not kept longer than it is needed")
	src, err := os.ReadFile("kiln.map.yaml")
	require.NoError(t, err)
	require.Contains(t, string(src), "power.1 + power.2 + power.3 = total_power within")
	for _, f := range []string{"diagnose", "record"} {
		args := map[string][]string{"diagnose": {"diagnose", "kiln.yaml"}, "record": {"record", "as-found", "kiln.yaml"}}[f]
		x = inTerminal(t, 100, 60, nil, args...)
		require.Equal(t, exitFault, x.exits(), x.text())
	}
}

// What ends a session isn't broken within a word, in a terminal of the usual width.
func TestStartFitsATerminal(t *testing.T) {
	t.Chdir(t.TempDir())
	const sheet = "tidewater-kiln-house-panel-of-the-second-floor-behind-the-wall.yaml"
	x := inTerminal(t, 80, 24, nil, "start", "sim:kiln-house", "--yes", "--into", sheet)
	require.Equal(t, exitAgrees, x.exits())
	require.Regexp(t, `AGREES  The wiring agrees with the readings: every CT sits where it belongs\s*\n\(`, x.text())
	require.Contains(t, strings.Join(strings.Fields(x.text()), " "), sheet+" (job sheet). Next: legwork watch")
	require.Regexp(t, `(?m)^Next: legwork watch `, x.text())
}

// atPanel is a person at the meter, with instruments, who counts the answers.
type atPanel struct {
	t     *testing.T
	given int
}

func (p *atPanel) answers(x *terminal, question, text string) {
	p.t.Helper()
	x.showsWithin(time.Minute, question) // learning takes its time on a machine that does much else
	p.given++
	x.types(text + "\r")
}

// measures answers whatever is asked of the instruments, till all is settled:
// what the kiln house's meter shows, wired as it is.
func (p *atPanel) measures(x *terminal) {
	p.t.Helper()
	shows := map[string]string{
		"voltage input 1 and neutral, in V?": "120.4", "voltage input 2 and neutral, in V?": "119.6",
		"voltage input 3 and neutral, in V?": "120.6", "that CT 1 is round, in A?": "92.0 A",
		"that CT 2 is round, in A?": "97.7", "that CT 3 is round, in A?": "87,2", "power of channel 1 does": "4.56",
		"power of channel 2 does": "11.6", "power of channel 3 does": "5.66 kW", "What power in all": "21.9",
	}
	for !strings.Contains(x.text(), "ties: voltage, current, power") {
		require.NotContains(p.t, x.text(), "This would settle most")
		for question, value := range shows {
			if strings.Contains(x.text(), question) {
				p.answers(x, question, value)
				delete(shows, question)
				break
			}
		}
		select {
		case <-x.changed:
		case <-time.After(time.Minute):
			require.Fail(p.t, "nothing is asked", x.text())
		}
	}
}
