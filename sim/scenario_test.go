package sim

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// Every fault is told at once, with its place and what would be right.
func TestFaultsOfAScenario(t *testing.T) {
	for name, x := range map[string]struct{ src, says string }{
		"empty": {"", "s.yaml:1:1: the file is empty"},
		"nothing in it": {"title: x\n", `s.yaml:1:1: legwork-place is missing; write ` + "`legwork-place: 1`" + `
s.yaml:1:1: service is missing; write ` + "`service: ...`" + `
s.yaml:1:1: loads is missing; write ` + "`loads: ...`"},
		"another version": {"legwork-place: 2\nservice: 120\nloads: [{kind: heat, across: A-N, va: 1, lag: 0}]\n",
			"s.yaml:1:16: 2 is out of range; from 1 to 1"},
		"misspelt": {"legwork-place: 1\nservice: 120/208y\nlods: []\nloads: [{kind: heat, across: A-N, va: 1, lag: 0}]\n",
			`s.yaml:2:10: "120/208y" is not one of 120/208Y, 277/480Y, 347/600Y, 230/400Y, 120/240, 120/208N, 120, 230, 240D, 480D, 600D, 120/240D; did you mean 120/208Y?
s.yaml:3:1: "lods" is not known here; did you mean loads?`},
		"loads": {`legwork-place: 1
service: 120/240
volts: [120, 120, 120]
high-leg: B
meter: {class: 0.7, pf: led, noise: 3}
loads:
  - {kind: heat, across: C-N, va: 1, lag: 0}
  - {kind: hear, across: A-N, va: -1, lag: north, cycle: {every: 0, on: 2}}
  - {across: ABC}
`, `s.yaml:3:8: 3 voltages are given; 120/240 has 2 legs
s.yaml:4:11: this service has no high leg; only 120/240D has one
s.yaml:5:16: "0.7" is no class of CTs; there are 0.1, 0.2, 0.2S, 0.5, 0.5S, 1
s.yaml:5:25: "led" is not one of power, lag; did you mean lag?
s.yaml:5:37: 3 is out of range; from 0 to 0.1
s.yaml:7:26: "C-N" is no connection on 120/240; one of A-N, A-B, B-N, B-A
s.yaml:8:12: "hear" is not one of heat, lighting, electronics, motor, idling-motor, capacitor, generation; did you mean heat?
s.yaml:8:35: -1 is out of range; from 1 to 10000000
s.yaml:8:44: "north" is not a number; write it without quotes or unit
s.yaml:8:66: 0 is out of range; from 1 to 1000000
s.yaml:8:73: 2 is out of range; from 0 to 1
s.yaml:9:5: kind is missing; write ` + "`kind: ...`" + `
s.yaml:9:5: va is missing; write ` + "`va: ...`" + `
s.yaml:9:5: lag is missing; write ` + "`lag: ...`" + `
s.yaml:9:14: "ABC" is no connection on 120/240; one of A-N, A-B, B-N, B-A`},
		"no loads": {"legwork-place: 1\nservice: 230\nloads: []\n", "s.yaml:3:8: 0 loads are given; from 1 to 200"},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := ParseScenario("s.yaml", []byte(x.src))
			require.Error(t, err)
			require.Equal(t, x.says, strings.TrimSuffix(err.Error(), "; "))
		})
	}
}

func TestScenarioIsWhatItsFileSays(t *testing.T) {
	c, err := ParseScenario("s.yaml", []byte(`legwork-place: 1
title: A net loft
service: 120/240D
sequence: ACB
high-leg: C
volts: [121, 119, 207]
meter: {ct-primary: 75, class: 0.5S, noise: 0.001, average: 2, pf: lag, reactive: root, neutral-ct: true, serial: N1}
loads:
  - {name: winch, kind: motor, across: ABC, va: 3000, lag: 35, distortion: 0.02, cycle: {every: 60, on: 0.5, from: 10}}
`))
	require.NoError(t, err)
	require.Equal(t, "A net loft", c.Title)
	require.Equal(t, "120/240D", c.Service.Name)
	require.Equal(t, ACB, c.Sequence)
	require.Equal(t, LegC, c.HighLeg)
	require.Equal(t, [3]float64{121, 119, 207}, c.Volts)
	require.Equal(t, 2.0, c.Average)
	require.Equal(t, MeterOptions{CTPrimary: 75, Class: "0.5S", Noise: 0.001, Steps: true, PowerFactorLags: true,
		RootReactive: true, NeutralCT: true, Serial: "N1"}, c.Meter)
	require.Equal(t, []Load{{Name: "winch", Kind: Motor, Across: ThreePhase(), VA: 3000, Lag: 35, Distortion: 0.02}}, c.Loads)
	require.Equal(t, []Cycle{{Every: 60, On: 0.5, From: 10}}, c.Cycles)
}

// Whatever the file holds: a scenario that runs, or faults of one line each.
func FuzzScenario(f *testing.F) {
	files, err := filepath.Glob("scenarios/*.yaml")
	require.NoError(f, err)
	for _, file := range files {
		src, err := os.ReadFile(file)
		require.NoError(f, err)
		f.Add(src)
	}
	f.Add([]byte("legwork-place: 1\nservice: 120\nloads: [{kind: heat, across: A-N, va: 1, lag: 0}]\n"))
	f.Fuzz(func(t *testing.T, src []byte) {
		c, err := ParseScenario("s.yaml", src)
		if err != nil {
			for line := range strings.SplitSeq(err.Error(), "\n") {
				require.True(t, strings.HasPrefix(line, "s.yaml:"), line)
			}
			return
		}
		p, err := newPlace("s", c, Options{Start: morning})
		require.NoError(t, err)
		r := p.At(morning.Add(1000))
		require.Len(t, r.Channels, c.Service.Channels())
		require.True(t, r.TotalPower.Known())
	})
}
