//go:build unix

package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"legwork/cmd/legwork/internal/source"
	"legwork/sim"
)

// mostAnswers is how many answers a person has to give from the box to the verdict.
const mostAnswers = 6

// A meter of which nobody has the registers, wired wrong twice: from its host to
// the verdict at a terminal, broken off in between.
func TestStartInATerminal(t *testing.T) {
	served, err := source.ServeLayout("kiln-house", sim.Options{Fault: "ct2-reversed,ct1-ct3-crossed"}, 7)
	require.NoError(t, err)
	t.Cleanup(func() { _ = served.Server.Close() })
	host, err := served.Server.ListenTCP("127.0.0.1:0")
	require.NoError(t, err)
	t.Chdir(t.TempDir())

	answers := 0
	answer := func(x *terminal, question, text string) {
		t.Helper()
		x.shows(question)
		answers++
		x.types(text + "\r")
	}
	x := inTerminal(t, 100, 40, nil, "start", host.String())
	answer(x, "Name of the job sheet? [meter.yaml]", "kiln")
	x.shows("It does not follow SunSpec. Learning its registers")
	x.shows("What does your clamp show on the conductor that CT 1 is round, in A?")
	x.types("\x03") // the person goes for the clamp
	x.exits()
	require.Contains(t, x.text(), "What is known is in kiln.yaml; to go on: legwork start kiln.yaml")
	asked := served.Server.Counts().Functions

	x = inTerminal(t, 100, 40, nil, "start")
	x.shows("Going on with kiln.yaml")
	x.shows("Its registers were read at")
	answer(x, "What does your clamp show on the conductor that CT 1 is round, in A?", "92 A")
	x.shows("ties: voltage, current, power")
	require.Less(t, served.Server.Counts().Functions[3]-asked[3], 20, "nothing is learnt twice")
	answer(x, "Service 120/208Y, by the voltages. Right? Or write which it is [y]", "")
	answer(x, "Solar, a battery or a generator behind the meter: none, possible or unknown? [unknown]", "none")
	require.Equal(t, exitAgrees, x.exits())
	text := strings.Join(strings.Fields(x.text()), " ")
	require.Contains(t, text, "FAULT CTs 1 and 3 are crossed; CT 2 is also reversed")
	require.Contains(t, text, "Written: kiln.yaml (job sheet), kiln.map.yaml (register map). Next: legwork watch kiln.yaml")
	require.LessOrEqual(t, answers, mostAnswers)

	left, err := filepath.Glob("*")
	require.NoError(t, err)
	require.Equal(t, []string{"kiln.map.yaml", "kiln.yaml", "legwork-job.schema.json", "legwork-map.schema.json"}, left, "what was read is not kept longer than it is needed")
	src, err := os.ReadFile("kiln.map.yaml")
	require.NoError(t, err)
	require.Contains(t, string(src), "an instrument shows 92 A")
	for _, f := range []string{"diagnose", "record"} {
		args := map[string][]string{"diagnose": {"diagnose", "kiln.yaml"}, "record": {"record", "as-found", "kiln.yaml"}}[f]
		x = inTerminal(t, 100, 60, nil, args...)
		require.Equal(t, exitFault, x.exits(), x.text())
	}
}
