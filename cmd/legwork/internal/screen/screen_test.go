package screen

import (
	"bytes"
	"flag"
	"math"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/charmbracelet/x/ansi"
	"github.com/stretchr/testify/require"

	"legwork/diagnose"
	"legwork/probe/reading"
)

// tables are made once for all the tests here.
var tables = diagnose.NewTables()

var update = flag.Bool("update", false, "write the golden files anew")

// kiln is a reading of the Tidewater kiln house, with angles as given.
func kiln(withAngles bool, theta ...float64) reading.Reading {
	r := reading.Reading{At: time.Date(2026, 5, 4, 9, 30, 0, 0, time.UTC), Service: "120/208Y",
		Frequency: reading.Known(60.0)}
	for k, a := range theta {
		c := reading.Channel{Voltage: reading.Known(120.1), Current: reading.Known(10 + 2*float64(k)),
			Angle: reading.Known(reading.Degrees(a))}
		c.Power = reading.Known(120.1 * c.Current.Or(0) * math.Cos(a*math.Pi/180))
		if withAngles {
			c.VoltageAngle = reading.Known(reading.Degrees(-120 * float64(k)))
		}
		r.Channels = append(r.Channels, c)
	}
	return r
}

func TestScreens(t *testing.T) {
	for name, c := range map[string]struct {
		r reading.Reading
		s Style
	}{
		"agrees":           {kiln(true, 20, 25, 30), Style{}},
		"reversed":         {kiln(true, 20, -155, 30), Style{}},
		"reversed-ascii":   {kiln(true, 20, -155, 30), Style{ASCII: true}},
		"reversed-narrow":  {kiln(true, 20, -155, 30), Style{Width: 60}},
		"reversed-words":   {kiln(true, 20, -155, 30), Style{Words: true, Colour: true}},
		"apart-words":      {kiln(false, 140, 145, 150), Style{Words: true}},
		"rolled-no-angles": {kiln(false, 140, 145, 150), Style{}},
		"colour":           {kiln(true, 20, 25, 30), Style{Colour: true}},
	} {
		t.Run(name, func(t *testing.T) {
			var b bytes.Buffer
			require.NoError(t, Verdict(&b, diagnose.Diagnose([]reading.Reading{c.r}, diagnose.Options{Tables: tables}), c.s))
			require.NoError(t, Reading(&b, c.r, c.s))
			golden(t, name, b.Bytes())
			for _, line := range bytes.Split(b.Bytes(), []byte("\n")) {
				require.LessOrEqual(t, ansi.StringWidth(string(line)), 80)
				if c.s.ASCII || c.s.Words {
					require.Equal(t, len(line), len([]rune(string(line))), "%q has more than ASCII", line)
				}
			}
		})
	}
}

func golden(t *testing.T, name string, got []byte) {
	file := "testdata/" + name + ".txt"
	if *update {
		require.NoError(t, os.MkdirAll("testdata", 0o755))
		require.NoError(t, os.WriteFile(file, got, 0o644))
	}
	want, err := os.ReadFile(file)
	require.NoError(t, err)
	require.Equal(t, string(want), string(got))
}

// Colour says nothing that words don't: without it the text is the same.
func TestNoMeaningIsInColourAlone(t *testing.T) {
	for _, theta := range [][]float64{{20, 25, 30}, {20, -155, 30}, {140, 145, 150}} {
		r := diagnose.Diagnose([]reading.Reading{kiln(true, theta...)}, diagnose.Options{Tables: tables})
		var plain, coloured bytes.Buffer
		require.NoError(t, Verdict(&plain, r, Style{}))
		require.NoError(t, Verdict(&coloured, r, Style{Colour: true}))
		require.NotEqual(t, plain.String(), coloured.String())
		require.Equal(t, plain.String(), ansi.Strip(coloured.String()))
	}
}

// Nothing is drawn for a screen reader, and nothing is said by its place alone.
func TestWordsForAScreenReader(t *testing.T) {
	var b bytes.Buffer
	require.NoError(t, Reading(&b, kiln(true, 20, -155, 30), Style{Words: true}))
	require.Equal(t, "2026-05-04 09:30:00   60.00 Hz\n"+
		"  channel 1, 120.1 V, 10.00 A, 1.129 kW, kvar unknown, pf unknown, lag 20.0\n  degrees, V at 0.0 degrees\n"+
		"  channel 2, 120.1 V, 12.00 A, -1.306 kW, kvar unknown, pf unknown, lag -155.0\n  degrees, V at -120.0 degrees\n"+
		"  channel 3, 120.1 V, 14.00 A, 1.456 kW, kvar unknown, pf unknown, lag 30.0\n  degrees, V at 120.0 degrees\n", b.String())
}

// A full disk or a closed pipe is told.
func TestScreenThatCantBeWritten(t *testing.T) {
	require.ErrorIs(t, Verdict(broken{}, diagnose.Result{}, Style{}), os.ErrClosed)
}

type broken struct{}

func (broken) Write([]byte) (int, error) { return 0, os.ErrClosed }

// A fault has its sketch on the one screen; a sketch goes before a second test, and never over the edge.
func TestBriefHasTheSketch(t *testing.T) {
	result := func(theta ...float64) diagnose.Result {
		return diagnose.Diagnose([]reading.Reading{kiln(true, theta...)}, diagnose.Options{Tables: tables})
	}
	crowded := result(20, -155, 30)
	ask := diagnose.NextTest{Test: "load-step", Ask: strings.Repeat("switch a load on ", 8)}
	crowded.NextTests = []diagnose.NextTest{ask, ask, ask}
	overfull := crowded
	overfull.Notes = []string{strings.Repeat("this is worth knowing ", 20)}
	for name, c := range map[string]struct {
		r      diagnose.Result
		s      Style
		sketch bool
	}{
		"a fault": {result(20, -155, 30), Style{}, true}, "in ASCII": {result(20, -155, 30), Style{ASCII: true}, true},
		"nothing to move": {result(20, 25, 30), Style{}, false}, "many tests": {crowded, Style{}, true},
		"no room": {overfull, Style{}, false}, "narrow": {result(20, -155, 30), Style{Width: 60}, false},
	} {
		var b bytes.Buffer
		require.NoError(t, Brief(&b, c.r, c.s))
		lines := strings.Split(strings.TrimRight(b.String(), "\n"), "\n")
		require.LessOrEqual(t, len(lines), 24, name)
		require.Equal(t, c.sketch, strings.Contains(b.String(), "AS IT SHOULD BE") && strings.Contains(b.String(), " turn"), "%s\n%s", name, b.String())
		for _, l := range lines {
			require.LessOrEqual(t, ansi.StringWidth(l), 80, name)
		}
	}
}
