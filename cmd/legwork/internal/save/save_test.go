package save

import (
	"bytes"
	"errors"
	"io"
	"os"
	"path/filepath"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"legwork/probe/capture"
	"legwork/probe/reading"
)

var day = time.Date(2026, 5, 4, 9, 30, 0, 0, time.UTC)

func at(second int, serial string) reading.Reading {
	return reading.Reading{At: day.Add(time.Duration(second) * time.Second), Serial: serial,
		Channels: []reading.Channel{{Voltage: reading.Known(120.1)}}}
}

// to is a live meter's capture, an hour later.
func to(name string) Options {
	return Options{Name: name, Live: true, Meter: "192.0.2.7:502/1", Map: "0123abcd", Now: func() time.Time { return day.Add(time.Hour) }}
}

func saved(t *testing.T, o Options, all ...reading.Reading) error {
	t.Helper()
	s, err := Open(o)
	if err != nil {
		return err
	}
	defer s.Close()
	for _, r := range all {
		if err := s.Write(r); err != nil {
			return err
		}
	}
	return nil
}

func count(t *testing.T, name string) (n int) {
	t.Helper()
	f, err := os.Open(name)
	require.NoError(t, err)
	defer f.Close()
	c, err := capture.NewReader(name, f)
	for ; err == nil; n++ {
		_, err = c.Next()
	}
	require.ErrorIs(t, err, io.EOF)
	return n - 1
}

func newFile(t *testing.T) string { return filepath.Join(t.TempDir(), "kiln.jsonl") }

func TestALastLineWithoutItsEndIsEnded(t *testing.T) {
	name := newFile(t)
	require.NoError(t, saved(t, to(name), at(0, "A"), at(1, "A")))
	src, err := os.ReadFile(name)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(name, bytes.TrimSuffix(src, []byte("\n")), 0o600))
	require.NoError(t, saved(t, to(name), at(2, "A"), at(3, "A")))
	require.Equal(t, 4, count(t, name))
}

func TestWhatIsRefusedBeforeAnythingIsWritten(t *testing.T) {
	name := newFile(t)
	require.NoError(t, saved(t, to(name), at(0, "A")))
	before, err := os.ReadFile(name)
	require.NoError(t, err)
	early := to(name)
	early.Now = func() time.Time { return day.Add(-time.Hour) }
	for words, o := range map[string]Options{
		"its last reading is of 2026-05-04T09:30:00Z, later than this machine's clock (2026-05-04T08:30:00Z)": early} {
		require.ErrorContains(t, saved(t, o, at(0, "A")), words)
	}
	for words, r := range map[string]reading.Reading{
		`another meter (serial number "A", where this one has "B"); choose another file`: at(5, "B"),
		"a reading of 2026-05-04T09:29:59Z doesn't go behind one of":                     at(-1, "A"),
	} {
		require.ErrorContains(t, saved(t, to(name), r), words)
	}
	other := to(name)
	other.Map = "9999"
	require.ErrorContains(t, saved(t, other, at(5, "A")), `another meter (register map "0123abcd", where this one has "9999")`)
	other = to(name)
	other.Meter = "192.0.2.9:502/1"
	require.ErrorContains(t, saved(t, other, at(5, "")), `another meter (METER "192.0.2.7:502/1"`)
	after, err := os.ReadFile(name)
	require.NoError(t, err)
	require.Equal(t, string(before), string(after))
	require.NoError(t, saved(t, other, at(5, "A")), "the same serial number is the same meter, wherever it is asked")
}

func TestAMeterWithoutASerialNumberIsToldByItsAddress(t *testing.T) {
	name := newFile(t)
	require.NoError(t, saved(t, to(name), at(0, "")))
	other := to(name)
	other.Meter = "192.0.2.9:502/1"
	require.ErrorContains(t, saved(t, other), "METER")
	require.NoError(t, saved(t, to(name), at(1, "")))
}

func TestTwoSavers(t *testing.T) {
	name := newFile(t)
	first, err := Open(to(name))
	require.NoError(t, err)
	_, err = Open(to(name))
	require.ErrorContains(t, err, name+": another legwork saves to it just now")
	require.NoError(t, first.Write(at(0, "A")))
	require.NoError(t, first.Close())
	require.NoError(t, saved(t, to(name), at(1, "A")))
	require.Equal(t, 2, count(t, name))
}

func TestTheInputIsNotTheOutput(t *testing.T) {
	name := newFile(t)
	require.NoError(t, saved(t, to(name), at(0, "A")))
	hard := filepath.Join(filepath.Dir(name), "hard.jsonl")
	require.NoError(t, os.Link(name, hard))
	input, err := os.Open(name)
	require.NoError(t, err)
	defer input.Close()
	for _, as := range []string{name, hard} {
		o := to(as)
		o.Others = []*os.File{input}
		require.ErrorContains(t, saved(t, o, at(1, "A")), "this is the file that the readings come from")
	}
	require.Equal(t, 1, count(t, name))
}

// full is a disk that takes so many bytes more.
type full struct {
	file
	room int
}

func (f *full) Write(b []byte) (int, error) {
	if len(b) <= f.room {
		f.room -= len(b)
		return f.file.Write(b)
	}
	n, _ := f.file.Write(b[:f.room])
	f.room = 0
	return n, syscall.ENOSPC
}

func TestAFullDiskLeavesWholeLines(t *testing.T) {
	for room := range 400 {
		name := newFile(t)
		require.NoError(t, saved(t, to(name), at(0, "A")))
		s, err := Open(to(name))
		require.NoError(t, err)
		s.f = &full{s.f, room}
		written := 1
		for err == nil {
			if err = s.Write(at(written, "A")); err == nil {
				written++
			}
		}
		require.ErrorContains(t, err, name+": ")
		require.True(t, errors.Is(err, syscall.ENOSPC))
		require.NoError(t, s.Close())
		require.Equal(t, written, count(t, name), "%d bytes of room", room)
	}
}

func TestAFileThatChangesMeanwhile(t *testing.T) {
	name := newFile(t)
	s, err := Open(to(name))
	require.NoError(t, err)
	defer s.Close()
	require.NoError(t, s.Write(at(0, "A")))
	require.NoError(t, os.WriteFile(name, []byte("{}\n"), 0o600))
	require.ErrorContains(t, s.Write(at(1, "A")), "another program changed it meanwhile")
}
