package record

import (
	"bufio"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// The test's own binary is the writer that is killed: with writerFile set it
// appends entries until it dies, and prints each that is acknowledged.
const (
	writerFile = "LEGWORK_TEST_RECORD"
	writerMany = "LEGWORK_TEST_ENTRIES"
)

func TestMain(m *testing.M) {
	if path := os.Getenv(writerFile); path != "" {
		write(path, os.Getenv(writerMany))
		return
	}
	os.Exit(m.Run())
}

// slow writes a few bytes at a time, with pauses, so that kills fall within lines.
type slow struct{ file }

func (s slow) WriteAt(b []byte, at int64) (int, error) {
	for n := 0; n < len(b); n += 8 {
		if _, err := s.file.WriteAt(b[n:min(n+8, len(b))], at+int64(n)); err != nil {
			return n, err
		}
		for t := time.Now(); time.Since(t) < 30*time.Microsecond; { // a sleep would take a millisecond
		}
	}
	return len(b), nil
}

func write(path, many string) {
	most := 1 << 30
	s := &Store{path, func(path string) (file, error) { f, err := openLocked(path); return slow{f}, err }}
	if many != "" {
		_, _ = fmt.Sscan(many, &most)
		s = At(path)
	}
	for i := range most {
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

// A writer that is killed at random moments, two hundred times: every entry that
// it acknowledged is there, and the chain holds.
func TestKilledWriters(t *testing.T) {
	rounds := 200
	if testing.Short() {
		rounds = 20
	}
	seed := uint64(20260504)
	rng := rand.New(rand.NewPCG(seed, 0))
	path := filepath.Join(t.TempDir(), "kiln.record.jsonl")
	acked := map[string]bool{}
	torn := 0
	for round := range rounds {
		for _, l := range killed(t, path, round%2 == 0, time.Duration(rng.IntN(30_000))*time.Microsecond) {
			require.NotContains(t, l, "error")
			acked[strings.Fields(l)[2]] = true
		}
		if _, err := os.Stat(path); err != nil {
			continue // killed before it began
		}
		src := readFile(t, path)
		if len(src) > 0 && src[len(src)-1] != '\n' {
			torn++
		}
	}
	log, err := At(path).Read()
	require.NoError(t, err)
	require.Empty(t, log.Findings)
	for _, e := range log.Entries {
		delete(acked, e.Seal)
	}
	require.Empty(t, acked, "acknowledged entries that aren't there")
	t.Logf("%d rounds: %d entries, %d lines cut off", rounds, len(log.Entries), torn)
	require.NotZero(t, torn, "no kill fell within a line: this test shows nothing")
	require.Greater(t, len(log.Entries), rounds/4)
}

// killed runs a writer, kills it after a while, from its start or from its first
// entry, and gives the lines that it wrote whole.
func killed(t *testing.T, path string, fromStart bool, after time.Duration) []string {
	c := writer(t, writerFile+"="+path)
	pipe, err := c.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, c.Start())
	out := bufio.NewReader(pipe)
	var lines []string
	if !fromStart {
		first, err := out.ReadString('\n')
		require.NoError(t, err)
		lines = append(lines, first)
	}
	time.Sleep(after) // the moment is what is tested
	require.NoError(t, c.Process.Kill())
	for {
		l, err := out.ReadString('\n')
		if err != nil { // the end, or a line that was cut
			_ = c.Wait()
			return lines
		}
		lines = append(lines, l)
	}
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
