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

	"github.com/stretchr/testify/require"

	"legwork/cmd/legwork/internal/job"
	"legwork/cmd/legwork/internal/keep"
	"legwork/cmd/legwork/internal/record"
	"legwork/cmd/legwork/internal/screen"
	"legwork/diagnose/clamp"
	"legwork/probe/reading"
)

// A result that can't be kept is told all the same, and then why it isn't kept.
func TestWhatCantBeKeptIsTold(t *testing.T) {
	var out, errs bytes.Buffer
	a := &app{stdin: strings.NewReader(""), stdout: &out, stderr: &errs}
	k := &keep.Keeper{Job: &job.Job{File: filepath.Join(t.TempDir(), "gone", "kiln.yaml")}, Before: &record.Log{}}
	step := record.LoadStep{Says: "Channel 1 took it"}
	told := outcome[record.LoadStep]{"agrees", step, screen.LoadStep, "text", record.Entry{Kind: record.OfLoadStep}}
	err := told.give(context.Background(), a, k)
	require.ErrorContains(t, err, "kiln.yaml")
	require.Equal(t, "Channel 1 took it\n", out.String())
	require.Equal(t, exitWrong, a.exit(err))
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
	b := newBench(t, "kiln-house", "v2-low")
	b.want(exitFault, "record", "as-found", b.sheet, "--samples", "5", "--interval", "1ms")
	n := 0
	require.NoError(t, keep.Readings(&b.log().Entries[0].Entry, func(r reading.Reading) { n += len(r.Channels) }))
	require.Equal(t, 15, n)
	require.NoError(t, keep.Readings(&record.Entry{}, nil))
	broken := record.Entry{Readings: []json.RawMessage{[]byte("{")}}
	require.Error(t, keep.Readings(&broken, func(reading.Reading) {}))
	out := b.want(exitAgrees, "energy", b.sheet, "--as-found", "--registered", "1000 kWh")
	require.Contains(t, out, "any load like the 5 readings, as found in entry 1")
	require.NoError(t, os.Remove(strings.TrimSuffix(b.sheet, ".yaml")+".record.head"))
	b.want(exitAgrees, "energy", b.sheet, "--as-found", "--registered", "1000 kWh")
}
