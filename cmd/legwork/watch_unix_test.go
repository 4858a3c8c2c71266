//go:build unix

package main

import (
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/charmbracelet/x/ansi"
	"github.com/charmbracelet/x/vt"
	"github.com/creack/pty"
	"github.com/stretchr/testify/require"

	"legwork/cmd/legwork/internal/record"
	"legwork/cmd/legwork/internal/source"
	"legwork/sim"
)

// terminal is legwork in a pseudo-terminal, with a screen that a test reads.
type terminal struct {
	t       *testing.T
	cmd     *exec.Cmd
	pty     *os.File
	screen  *vt.SafeEmulator
	changed chan struct{}
	ended   chan struct{}
}

// inTerminal runs this test's own program as legwork (see TestMain).
func inTerminal(t *testing.T, wide, high int, env []string, args ...string) *terminal {
	self, err := os.Executable()
	require.NoError(t, err)
	cmd := exec.Command(self)
	cmd.Args = append([]string{"legwork"}, args...)
	cmd.Env = append(os.Environ(), append([]string{"TERM=xterm-256color", "LC_ALL=C.UTF-8"}, env...)...)
	f, err := pty.StartWithSize(cmd, &pty.Winsize{Cols: uint16(wide), Rows: uint16(high)})
	require.NoError(t, err)
	term := &terminal{t, cmd, f, vt.NewSafeEmulator(wide, high), make(chan struct{}, 1), make(chan struct{})}
	go term.follow()
	go func() { _, _ = io.Copy(f, term.screen) }() // answers to what the program asks of a terminal
	t.Cleanup(func() {
		_ = cmd.Process.Kill()
		_ = f.Close()
	})
	return term
}

func (x *terminal) follow() {
	b := make([]byte, 4096)
	for {
		n, err := x.pty.Read(b)
		_, _ = x.screen.Write(b[:n])
		select {
		case x.changed <- struct{}{}:
		default:
		}
		if err != nil {
			close(x.ended)
			return
		}
	}
}

func (x *terminal) text() string { return ansi.Strip(x.screen.Render()) }

// shows waits till the screen has a text.
func (x *terminal) shows(want string) {
	x.t.Helper()
	x.showsWithin(20*time.Second, want)
}

func (x *terminal) showsWithin(d time.Duration, want string) {
	x.t.Helper()
	late := time.After(d)
	for !strings.Contains(x.text(), want) {
		select {
		case <-x.changed:
		case <-x.ended:
			require.Contains(x.t, x.text(), want, "it has ended")
		case <-late:
			require.Fail(x.t, "not on the screen", "%q in\n%s", want, x.text())
		}
	}
}

func (x *terminal) types(text string) {
	_, err := x.pty.WriteString(text)
	require.NoError(x.t, err)
}

// exits waits for the end and gives the status.
func (x *terminal) exits() int {
	select {
	case <-x.ended:
	case <-time.After(20 * time.Second):
		require.Fail(x.t, "it doesn't end", x.text())
	}
	_ = x.cmd.Wait()
	return x.cmd.ProcessState.ExitCode()
}

// kilnHouse serves the kiln house on an address.
func kilnHouse(t *testing.T, address, fault string) (*source.Served, string) {
	served, err := source.ServePlace("kiln-house", sim.Options{Fault: fault}, 0)
	require.NoError(t, err)
	at, err := served.Server.ListenTCP(address)
	require.NoError(t, err)
	t.Cleanup(func() { _ = served.Server.Close() })
	return served, at.String()
}

// A whole session: a fault is seen, the keys answer, the wiring is put right
// while it runs, the meter goes and comes back, the window changes its size.
func TestASessionInATerminal(t *testing.T) {
	served, host := kilnHouse(t, "127.0.0.1:0", "ct2-reversed")
	file, src := served.Place.Map()
	file = filepath.Join(t.TempDir(), filepath.Base(file))
	require.NoError(t, os.WriteFile(file, src, 0o600))
	x := inTerminal(t, 80, 24, nil, "watch", "tcp://"+host, "--map", file, "--service", "120/208Y", "--interval", "50ms", "--timeout", "200ms")
	x.shows("FAULT  CT 2 is reversed")
	x.shows("Turn CT 2 round")
	x.shows("no retries, nothing late")

	x.types("t")
	x.shows("test result: _")
	x.types("ct 2 arow wrong\r")
	x.shows("is not understood; say one of")
	x.types("\x15ct 2 arrow wrong\r")
	x.shows("Test result: ct 2 arrow wrong")
	x.types("s")
	x.shows("on which leg? Press 1, 2, 3")
	x.types("3")
	x.shows("Switch a load of a few amperes on leg 3 on now")
	x.types("\x1b")
	x.shows("Turn CT 2 round")
	x.types("p")
	x.shows("PAUSED since")
	x.types("p")
	x.shows("Resumed after")

	require.NoError(t, served.Place.SetFault(""))
	x.shows("The wiring was changed at")
	x.shows("AGREES  The wiring agrees")

	require.NoError(t, served.Server.Close())
	x.shows("NO ANSWER since")
	kilnHouse(t, host, "")
	x.shows("The meter answers again, after")

	for _, size := range [][2]int{{10, 3}, {1, 1}, {200, 60}} {
		x.screen.Resize(size[0], size[1])
		require.NoError(t, pty.Setsize(x.pty, &pty.Winsize{Cols: uint16(size[0]), Rows: uint16(size[1])}))
		if size[0] == 10 {
			x.shows("too small")
		}
	}
	x.shows("What the readings may mean")
	x.types("?")
	x.shows("Test results")
	x.types("x")
	x.types("q")
	require.Equal(t, exitAgrees, x.exits())
	require.Contains(t, x.text(), "of load used", "how it ended is left on the screen")
}

// The same job with what is said at the screen: every word is in the record
// before it is acknowledged, and outlasts a kill.
func TestAWholeJobWithWordsAtTheScreen(t *testing.T) {
	b := newBench(t, "kiln-house", "ct2-reversed,ct1-ct3-crossed")
	b.before()
	args := []string{"watch", "--keep", b.sheet, "--interval", "50ms", "--timeout", "200ms"}
	x := inTerminal(t, 100, 30, nil, args...)
	x.shows("FAULT  CTs 1 and 3 are crossed")
	x.types("t")
	x.shows("test result: _")
	x.types("ct 2 arrow wrong\r")
	x.shows("Test result: ct 2 arrow wrong (entry 5)")
	require.NoError(t, x.cmd.Process.Kill())
	require.Equal(t, []string{"ct 2 arrow wrong"}, b.log().Entries[4].Tests)

	x = inTerminal(t, 100, 30, nil, args...)
	x.shows("FAULT  CTs 1 and 3 are crossed")
	require.NoError(t, b.served.Place.SetFault(""))
	x.shows("The wiring was changed at")
	x.types("n")
	x.shows("what was moved: _")
	x.types("exchanged CTs 1 and 3, turned CT 2\r")
	x.shows("Moved: exchanged CTs 1 and 3")
	x.shows("(entry 6). Judged anew")
	x.shows("judged from ")
	x.types("t")
	x.shows("test result: _")
	x.types("ct 2 arrow right\r")
	x.shows("Test result: ct 2 arrow right (entry 7)")
	x.shows("AGREES  The wiring agrees")
	x.types("q")
	require.Equal(t, exitAgrees, x.exits())
	require.Contains(t, x.text(), "Recorded as entry 7 of")

	b.after()
	b.proves(record.OfPhaseTest, record.AsFound, record.Note, record.OfClamp, record.Note, record.Note, record.Note, record.AsLeft,
		record.OfClamp, record.OfPulses, record.Note, record.OfLedger, record.OfEnergy, record.OfEnergy)
	require.Equal(t, []string{"exchanged CTs 1 and 3, turned CT 2"}, b.log().Entries[5].Moves)
	require.Equal(t, []string{"ct 2 arrow right"}, b.log().Last(record.AsLeft).Seen, "what was said before the change counts no more")
}

func TestPlainTerminals(t *testing.T) {
	x := inTerminal(t, 80, 24, []string{"NO_COLOR=1", "LC_ALL=C"}, "watch", "sim:kiln-house", "--fault", "ct2-reversed", "--interval", "20ms")
	x.shows("FAULT  CT 2 is reversed")
	x.shows("#")
	text := x.text()
	require.Equal(t, len(text), len([]rune(text)), "only ASCII")
	x.types("\x03")
	require.Equal(t, exitFault, x.exits())

	x = inTerminal(t, 80, 24, []string{"TERM=dumb"}, "watch", "sim:kiln-house", "--samples", "2", "--interval", "1ms")
	require.Equal(t, exitAgrees, x.exits())
	require.Contains(t, x.text(), "Watching sim:kiln-house", "lines, where there is no screen")
}

// A phase test on a terminal: broken off, gone on with, a slip of the fingers told,
// and settled.
func TestAPhaseTestInATerminal(t *testing.T) {
	file := filepath.Join(t.TempDir(), "test.yaml")
	args := []string{"phasetest", "--service", "120/240", "--dead", "--ask", "--file", file}
	x := inTerminal(t, 100, 40, nil, args...)
	x.shows("Was the tester proved on a known source before? [y/n]")
	x.types("y\r")
	x.shows(" 1 of 5  L1-L2, main leg L1 to main leg L2, open (OL), if the legs are apart:")
	x.types("OL\r")
	x.shows(" 2 of 5  L1-1, main leg L1 to pole 1, closed (beep, 0.2 ohm) or open (OL):")
	x.types("120 V\r")
	x.shows("120 V is not closed or open")
	x.types("0.2 ohm\r")
	x.shows(" 3 of 5  L2-1")
	x.types("\x03")
	require.Equal(t, exitWrong, x.exits())
	require.Contains(t, x.text(), "interrupted; the answers are kept in")

	x = inTerminal(t, 100, 60, nil, args...)
	x.shows("readings noted there: 2.")
	for _, one := range []struct{ asks, answer string }{{"3 of 5  L2-1", "open"}, {"4 of 5  L1-2", "OL"}, {"5 of 5  L2-2", "beep"}} {
		x.shows(one.asks)
		x.types(one.answer + "\r")
	}
	for _, one := range []struct{ asks, answer string }{{"One more  L1-1", "beep"}, {"One more  L2-2", "beep"}} {
		x.shows(one.asks)
		x.types(one.answer + "\r")
	}
	x.shows("Prove the tester again. Was it in order? [y/n]")
	x.types("y\r")
	require.Equal(t, exitAgrees, x.exits())
	require.Contains(t, x.text(), "AGREES  Every pole is on the leg of its number.")
}
