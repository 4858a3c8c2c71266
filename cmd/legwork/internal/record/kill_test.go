package record

import (
	"bufio"
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"
)

// The test's own binary is the writer that is killed: with writerFile set it
// appends entries, prints each that is acknowledged, and stops where it is told to.
const (
	writerFile = "LEGWORK_TEST_RECORD"
	writerMany = "LEGWORK_TEST_ENTRIES"
	writerStop = "LEGWORK_TEST_STOP" // in the last entry, as a stop is written
)

func TestMain(m *testing.M) {
	if path := os.Getenv(writerFile); path != "" {
		write(path, os.Getenv(writerMany), os.Getenv(writerStop))
		return
	}
	os.Exit(m.Run())
}

// stop is where a writer stops: in a step of the file, a write after some bytes,
// which count from the end of the line where they are below zero.
type stop struct {
	step  string // write, sync or truncate
	bytes int
}

func (s stop) String() string { return fmt.Sprintf("%s %d", s.step, s.bytes) }

// stopping is a file that stops for good: what comes after is for who kills it.
type stopping struct {
	file
	at stop
}

func (s stopping) WriteAt(b []byte, at int64) (int, error) {
	if s.at.step != "write" {
		return s.file.WriteAt(b, at)
	}
	n := s.at.bytes
	if n < 0 {
		n += len(b)
	}
	_, _ = s.file.WriteAt(b[:n], at)
	return 0, halt()
}

func (s stopping) Sync() error {
	if s.at.step != "sync" {
		return s.file.Sync()
	}
	return halt()
}

func (s stopping) Truncate(size int64) error {
	if s.at.step != "truncate" {
		return s.file.Truncate(size)
	}
	return halt()
}

// halt says so, and waits to be killed; without a parent it ends.
func halt() error {
	fmt.Println("stopped")
	_, _ = io.Copy(io.Discard, os.Stdin)
	os.Exit(4)
	return nil
}

func write(path, many, at string) {
	var most int
	var last stop
	_, _ = fmt.Sscan(many, &most)
	_, _ = fmt.Sscan(at, &last.step, &last.bytes)
	s := At(path)
	for i := range most {
		if i == most-1 && at != "" {
			s.open = func(path string) (file, error) { f, err := At(path).open(path); return stopping{f, last}, err }
		}
		a, err := s.Append(note(strings.Repeat(fmt.Sprintf("entry of %d, ", os.Getpid()), 20) + fmt.Sprint(i)))
		if err != nil {
			fmt.Println("error", err)
			os.Exit(3)
		}
		fmt.Println("ack", a.Number, a.Seal)
	}
}

func writer(t *testing.T, env ...string) *exec.Cmd {
	self, err := os.Executable()
	require.NoError(t, err)
	c := exec.Command(self)
	c.Env = append(os.Environ(), env...)
	return c
}

// A writer that is killed in every step: all that it acknowledged is there, what
// it had only begun is set aside, and the next writer gets the lock.
func TestKilledWriters(t *testing.T) {
	path := filepath.Join(t.TempDir(), "kiln.record.jsonl")
	const whole = -1 << 20 // the line is there, its end too
	const unended = -1     // all of the line but the newline: it counts
	tests := []struct {
		at   stop
		tail int // bytes of a line that was cut off, or whole
	}{
		{stop{"write", 0}, 0}, {stop{"write", 1}, 1}, {stop{"write", 2}, 2}, {stop{"write", 64}, 64}, {stop{"write", 301},
			301},
		{stop{"write", 500}, 500}, {stop{"write", -2}, -2}, {stop{"write", -1}, unended}, {stop{"sync", 0}, whole},
	}
	var acked []string
	unsaid := 0
	for _, c := range tests {
		acked = append(acked, killed(t, path, 2, c.at)...)
		src := readFile(t, path)
		tail := src[bytes.LastIndexByte(src, '\n')+1:]
		switch {
		case c.tail == whole:
			unsaid++ // it was never acknowledged, and counts
			require.Empty(t, tail, c.at)
		case c.tail == unended:
			unsaid++
			require.True(t, json.Valid(tail), c.at)
		case c.tail < 0:
			require.Greater(t, len(tail), 500, c.at)
			require.True(t, bytes.HasPrefix(tail, []byte("{")), c.at)
		default:
			require.Len(t, tail, c.tail, c.at)
		}
		torn := len(tail) > 0 && c.tail != unended
		if torn { // killed again, between the copy of the line and its end
			require.Empty(t, killed(t, path, 1, stop{"truncate", 0}), c.at)
			require.Equal(t, src, readFile(t, path), c.at)
		}
		a, err := At(path).Append(note("after " + c.at.String()))
		require.NoError(t, err, c.at)
		acked = append(acked, a.Seal)
		require.Equal(t, torn, a.Torn != "", c.at)
		if a.Torn != "" {
			require.Equal(t, tail, readFile(t, a.Torn), c.at)
		}
	}
	log, err := At(path).Read()
	require.NoError(t, err)
	require.Empty(t, log.Findings)
	require.Len(t, log.Entries, len(acked)+unsaid)
	require.Len(t, acked, 2*len(tests))
	for _, e := range log.Entries {
		if len(acked) > 0 && e.Seal == acked[0] {
			acked = acked[1:]
		}
	}
	require.Empty(t, acked, "acknowledged entries that aren't there, or not in their order")
}

// killed runs a writer of some entries, kills it where it stops, and gives the
// seals that it acknowledged.
func killed(t *testing.T, path string, entries int, at stop) (seals []string) {
	c := writer(t, writerFile+"="+path, fmt.Sprintf("%s=%d", writerMany, entries), fmt.Sprintf("%s=%s", writerStop, at))
	_, err := c.StdinPipe() // stays open: it is what the writer waits for
	require.NoError(t, err)
	out, err := c.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, c.Start())
	lines := bufio.NewScanner(out)
	for lines.Scan() && lines.Text() != "stopped" {
		require.Contains(t, lines.Text(), "ack", at)
		seals = append(seals, strings.Fields(lines.Text())[2])
	}
	require.Equal(t, "stopped", lines.Text(), "it stops at %s", at)
	require.NoError(t, c.Process.Kill())
	_ = c.Wait()
	return seals
}

// Two processes, and two goroutines of this one, append to one record at once.
func TestTwoProcessesAtOnce(t *testing.T) {
	path := filepath.Join(t.TempDir(), "kiln.record.jsonl")
	const each = 40
	var wait sync.WaitGroup
	seals := make(chan string, 4*each)
	for range 2 {
		c := writer(t, writerFile+"="+path, fmt.Sprintf("%s=%d", writerMany, each))
		out, err := c.StdoutPipe()
		require.NoError(t, err)
		require.NoError(t, c.Start())
		wait.Go(func() {
			for s := bufio.NewScanner(out); s.Scan(); {
				seals <- strings.Fields(s.Text())[2]
			}
			_ = c.Wait()
		})
		wait.Go(func() {
			for i := range each {
				if a, err := At(path).Append(note(fmt.Sprint(i))); err == nil {
					seals <- a.Seal
				}
			}
		})
	}
	wait.Wait()
	close(seals)
	log, err := At(path).Read()
	require.NoError(t, err)
	require.Empty(t, log.Findings)
	require.Len(t, log.Entries, 4*each)
	there := map[string]bool{}
	for _, e := range log.Entries {
		there[e.Seal] = true
	}
	for s := range seals {
		require.True(t, there[s])
		delete(there, s)
	}
	require.Empty(t, there)
}
