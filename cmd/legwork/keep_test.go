package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"legwork/cmd/legwork/internal/job"
	"legwork/cmd/legwork/internal/record"
	"legwork/cmd/legwork/internal/screen"
	"legwork/cmd/legwork/internal/source"
	"legwork/diagnose/clamp"
	"legwork/probe/reading"
)

// A result that can't be kept is told all the same, and then why it isn't kept.
func TestWhatCantBeKeptIsTold(t *testing.T) {
	var out, errs bytes.Buffer
	a := &app{strings.NewReader(""), &out, &errs}
	k := &keeping{job: &job.Job{File: filepath.Join(t.TempDir(), "gone", "kiln.yaml")}, before: &record.Log{}}
	step := record.LoadStep{Says: "Channel 1 took it"}
	err := outcome[record.LoadStep]{step, screen.LoadStep, "text", record.Entry{Kind: record.OfLoadStep}}.give(context.Background(), a, k)
	require.ErrorContains(t, err, "kiln.yaml")
	require.Equal(t, "Channel 1 took it\n", out.String())
	require.Equal(t, exitWrong, a.exit(err))
}

// manyReadings is a source that gives readings without end.
type manyReadings struct{ source.Source }

func (manyReadings) Next(context.Context) (reading.Reading, error) {
	return reading.Reading{At: time.Date(2026, 5, 4, 9, 30, 0, 0, time.UTC), Channels: make([]reading.Channel, 1)}, nil
}

// A long capture is known by its hash; a meter's readings are what an entry holds.
func TestMoreReadingsThanAnEntryHolds(t *testing.T) {
	for name, c := range map[string]struct {
		from   source.Address
		refuse bool
	}{
		"a capture's file":   {source.Address{Kind: source.Capture, Name: "kiln.jsonl"}, false},
		"standard input":     {source.Address{Kind: source.Capture, Name: "-"}, true},
		"a meter, on and on": {source.Address{Kind: source.TCP}, true},
	} {
		t.Run(name, func(t *testing.T) {
			k := &keeper{Source: manyReadings{}, address: c.from}
			var err error
			for range mostKept + 1 {
				if _, err = k.Next(context.Background()); err != nil {
					break
				}
			}
			if c.refuse {
				require.ErrorContains(t, err, "an entry holds 20000 readings at most")
				require.Len(t, k.lines, mostKept)
				return
			}
			require.NoError(t, err)
			require.Empty(t, k.lines)
			require.Equal(t, mostKept+1, k.n)
		})
	}
}

func TestRatingOfASheet(t *testing.T) {
	for text, want := range map[string]clamp.Rating{
		"{primary: 200 A, secondary: 5 A}":                     {Primary: 200, Secondary: 5},
		"{primary: 200 A, secondary: 1 A}":                     {Primary: 200, Secondary: 1},
		"{primary: 200 A}":                                     {Primary: 200},
		"{primary: 200 A, output: voltage, secondary: 333 mV}": {Primary: 200},
		"{secondary: 5 A}":                                     {},
	} {
		j, err := job.Parse("kiln.yaml", fmt.Appendf(nil, "legwork-job: 1\nmeter: sim:kiln-house\ncts: %s\n", text))
		require.NoError(t, err)
		require.Equal(t, want, ratingOf(j), text)
	}
	require.Zero(t, ratingOf(nil))
}

// The readings of an entry make the same energy again, as found.
func TestReadingsOfAnEntryHandedOn(t *testing.T) {
	b := newBench(t, "kiln-house", "ct2-reversed")
	b.want(exitFault, "record", "as-found", b.sheet, "--samples", "5", "--interval", "1ms")
	n := 0
	require.NoError(t, eachIn(b.log().Entries[0].Readings, func(r reading.Reading) { n += len(r.Channels) }))
	require.Equal(t, 15, n)
	require.NoError(t, eachIn(nil, nil))
	require.Error(t, eachIn([]json.RawMessage{[]byte("{")}, func(reading.Reading) {}))
	out := b.want(exitAgrees, "energy", b.sheet, "--as-found", "--registered", "1000 kWh")
	require.Contains(t, out, "any load like the 5 readings, as found in entry 1")
	require.NoError(t, os.Remove(strings.TrimSuffix(b.sheet, ".yaml")+".record.head"))
	b.want(exitAgrees, "energy", b.sheet, "--as-found", "--registered", "1000 kWh")
}
