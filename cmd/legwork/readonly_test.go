package main

import (
	"bytes"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"testing"

	"github.com/spf13/cobra"
	"github.com/stretchr/testify/require"

	"legwork/cmd/legwork/internal/source"
	"legwork/sim"
)

// asking are the commands that ask a meter, each with arguments that have it do
// so at once: METER, PLACE (host and port), MAP and KILO (a map that is wrong),
// JOB (a sheet that names both), SITES (a folder with that sheet), TEMP (a folder). A command may stand here several times, once for each way in
// which it asks.
var asking = map[string][]string{
	"diagnose":        {"METER --map MAP --samples 2 --interval 1ms", "METER --map sunspec --service 120/208Y"},
	"watch":           {"METER --map MAP --samples 2 --interval 1ms"},
	"read":            {"METER --map MAP --samples 2 --every 1ms --save TEMP/kept.jsonl", "METER --map sunspec"},
	"loadstep":        {"METER --map MAP --leg 1 --within 20ms --interval 1ms"},
	"clamp":           {"METER --map MAP --interval 1ms --reading leg_1:_87.3_A"},
	"pulses":          {"METER --map MAP --interval 1ms --samples 1 --constant 1000_imp/kWh --count 10 --over 10s"},
	"energy":          {"METER --map MAP --interval 1ms --samples 1 --registered 10000kWh"},
	"line":            {"METER", "METER --map MAP"},
	"find":            {"PLACE --units 1-3 --timeout 50ms --all"},
	"record as-found": {"JOB"},
	"record as-left":  {"JOB"},
	"survey":          {"SITES"},
	"trace":           {"SITES --every 5ms"},
	"desk":            {"SITES --every 5ms --listen 127.0.0.1:0"},
	"start":           {"PLACE --yes --into TEMP/new.yaml --map MAP", "METER --yes --into TEMP/new.yaml --map sunspec"},
	"job new":         {"TEMP/new.yaml --from METER --map MAP", "TEMP/new.yaml --from PLACE"},
	"map check":       {"MAP METER", "KILO METER --write TEMP/mended.yaml"},
	"map learn":       {"METER --range 0-127 --table holding"},
}

// lasting are those that go on until they are interrupted.
var lasting = []string{"trace", "desk"}

// interruptOnceAsked ends a lasting command when the meter has been asked.
func interruptOnceAsked(t *testing.T, path string, asked func() bool) {
	if !slices.Contains(lasting, path) {
		return
	}
	self, err := os.FindProcess(os.Getpid())
	require.NoError(t, err)
	go func() {
		for !asked() && t.Context().Err() == nil {
			runtime.Gosched()
		}
		_ = self.Signal(os.Interrupt)
	}()
}

// silent are the commands that ask none.
var silent = []string{"", "phasetest", "ledger", "ports", "sim", "map", "map new", "map schema", "completion",
	"completion bash", "completion fish", "completion powershell", "completion zsh", "help", "job", "job check",
	"desk rules", "record", "record note", "record strike", "record show", "record verify", "version",
	"report"}

// Whatever a person runs, a meter sees functions 3, 4 and 43 and no other. A new
// command has to be put into one of the two lists above.
func TestNoCommandWrites(t *testing.T) {
	served, err := source.ServePlace("kiln-house", sim.Options{}, 203)
	require.NoError(t, err)
	t.Cleanup(func() { _ = served.Server.Close() })
	tcp, err := served.Server.ListenTCP("127.0.0.1:0")
	require.NoError(t, err)
	rtu, err := listenLine(served)
	require.NoError(t, err)
	temp := t.TempDir()
	_, right := served.Place.Map()
	wrong := strings.ReplaceAll(string(right), "power.1: {at: 12, type: f32", "power.1: {at: 12, type: f32, scale: 0.001")
	require.NotEqual(t, string(right), wrong)
	require.NoError(t, os.WriteFile(filepath.Join(temp, "map.yaml"), right, 0o600))
	require.NoError(t, os.WriteFile(filepath.Join(temp, "kilo.yaml"), []byte(wrong), 0o600))

	for _, path := range slices.Sorted(maps.Keys(asking)) {
		for _, arguments := range asking[path] {
			for meter, place := range map[string]string{"tcp://" + tcp.String() + "/1": tcp.String(),
				"rtu+tcp://" + rtu + "/1": rtu} {
				t.Run(fmt.Sprintf("%s %s, %.3s", path, arguments, meter), func(t *testing.T) {
					kept := t.TempDir()
					sheet := filepath.Join(kept, "job.yaml")
					require.NoError(t, os.WriteFile(sheet, fmt.Appendf(nil, "legwork-job: 1\nmeter: %q\nmap: %q\n", meter,
						filepath.Join(temp, "map.yaml")), 0o600))
					line := strings.NewReplacer("METER", meter, "JOB", sheet, "SITES", kept, "PLACE", place, "MAP", filepath.Join(temp, "map.yaml"),
						"KILO", filepath.Join(temp, "kilo.yaml"), "TEMP", kept).Replace(path + " " + arguments)
					args := strings.Fields(line)
					for i := range args {
						if !strings.HasPrefix(args[i], "/") {
							args[i] = strings.ReplaceAll(args[i], "_", " ")
						}
					}
					before := served.Server.Counts().Functions
					interruptOnceAsked(t, path, func() bool {
						now := served.Server.Counts().Functions
						return now[3]+now[4] > before[3]+before[4]+4
					})
					var out, told bytes.Buffer
					code := run(args, strings.NewReader(""), &out, &told)
					require.NotEqual(t, exitUnread, code, told.String())
					after := served.Server.Counts().Functions
					require.Greater(t, after[3]+after[4], before[3]+before[4], "it asked: %s", told.String())
					for f := range after {
						require.Contains(t, []byte{3, 4, 43}, f)
					}
				})
			}
		}
	}
}

// Every command is known to ask a meter or not to.
func TestEveryCommandIsListed(t *testing.T) {
	root := (&app{stdin: strings.NewReader(""), stdout: &bytes.Buffer{}, stderr: &bytes.Buffer{}}).root()
	root.InitDefaultHelpCmd()
	root.InitDefaultCompletionCmd()
	var walk func(c *cobra.Command)
	walk = func(c *cobra.Command) {
		path := strings.TrimSpace(strings.TrimPrefix(c.CommandPath(), root.Name()))
		asks := asking[path] != nil
		if !c.IsAdditionalHelpTopicCommand() {
			require.True(t, asks || slices.Contains(silent, path),
				"is %q a command that asks a meter? add it to one of the lists here", path)
		}
		require.False(t, asks && slices.Contains(silent, path), path)
		if c.Flags().Lookup("timeout") != nil && path != "find" || strings.Contains(c.Use, "METER") {
			require.True(t, asks, "%q takes a METER", path)
		}
		for _, below := range c.Commands() {
			walk(below)
		}
	}
	walk(root)
}
