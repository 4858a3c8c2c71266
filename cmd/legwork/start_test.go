package main

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"legwork/probe/learn/image"
	"legwork/probe/regmap"
)

// An answer is asked for till it is taken; a blank one is what was proposed.
func TestQuestions(t *testing.T) {
	var out bytes.Buffer
	q := newAsker(strings.NewReader("  two \n\n"), &out, false)
	answer, err := q.ask(t.Context(), "How many?", "1")
	require.NoError(t, err)
	require.Equal(t, "two", answer)
	answer, err = q.ask(t.Context(), "How many?", "1")
	require.NoError(t, err)
	require.Equal(t, "1", answer)
	_, err = q.ask(t.Context(), "How many?", "1")
	require.ErrorIs(t, err, errNoAnswer, "the person has gone")
	_, err = q.ask(t.Context(), "How many?", "1")
	require.ErrorIs(t, err, errNoAnswer, "and isn't asked again")
	require.Equal(t, "How many? [1] two\nHow many? [1] 1\nHow many? [1] - nobody answers here\n", out.String())

	q = newAsker(nil, &out, true)
	answer, err = q.ask(t.Context(), "How many?", "1")
	require.NoError(t, err)
	require.Equal(t, "1", answer)
	_, err = q.ask(t.Context(), "Which?", "")
	require.ErrorIs(t, err, errNoAnswer, "nothing is made up")
	require.NotContains(t, out.String(), "Which?", "nor asked")
}

// Registers that were read stand for the same meter, for as long as an instrument
// may show the same; a file of someone else's is left alone.
func TestRegistersOutlastABreak(t *testing.T) {
	name := filepath.Join(t.TempDir(), "kiln.registers.json")
	at := time.Date(2026, 5, 4, 9, 30, 0, 0, time.UTC)
	im := &image.Image{Times: []time.Time{at, at.Add(time.Second)},
		Blocks: []image.Block{{Table: regmap.Input, At: 3000, Rounds: [][]uint16{{1, 2}, {1, 3}}}}}
	const meter = "tcp://10.0.0.7/1"
	require.NoError(t, saveRegisters(name, meter, im))
	require.NoError(t, saveRegisters(name, meter, im), "its own file is written anew")
	got, err := loadRegisters(name, meter, at.Add(59*time.Minute))
	require.NoError(t, err)
	require.Equal(t, im, got)
	_, err = loadRegisters(name, meter, at.Add(61*time.Minute))
	require.ErrorIs(t, err, errNoRegisters)
	_, err = loadRegisters(name, "tcp://10.0.0.7/2", at)
	require.ErrorIs(t, err, errNoRegisters)
	for _, broken := range []*image.Image{nil, {}, {Times: im.Times, Blocks: []image.Block{{Rounds: [][]uint16{{1}}}}},
		{Times: im.Times, Blocks: []image.Block{{Rounds: [][]uint16{{1}, {1, 2}}}}},
		{Times: im.Times, Blocks: []image.Block{{At: 65535, Rounds: [][]uint16{{1, 2}, {1, 2}}}}}} {
		src, err := json.Marshal(registersKept{1, meter, broken})
		require.NoError(t, err)
		require.NoError(t, os.WriteFile(name, src, 0o600))
		_, err = loadRegisters(name, meter, at)
		require.ErrorIs(t, err, errNoRegisters)
	}
	forgetRegisters(name)
	require.NoFileExists(t, name)

	require.NoError(t, os.WriteFile(name, []byte("mine"), 0o600))
	require.ErrorContains(t, saveRegisters(name, meter, im), "this isn't a file of registers of legwork, and is left alone")
	forgetRegisters(name)
	require.FileExists(t, name)
}
