//go:build linux

package link

import (
	"bufio"
	"io"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/creack/pty"
	"github.com/stretchr/testify/require"
	"golang.org/x/term"

	"legwork/probe/regmap"
	"legwork/sim/serve"
)

// Peers that no one here wrote: libmodbus in C, and the npm package
// modbus-serial, both ways, over TCP and RTU. Without them the tests are
// skipped; .ci/run installs them.

// peer runs one of them: "server" or "client", over what, and where.
type peer func(t *testing.T, args ...string) *exec.Cmd

func libmodbus(t *testing.T) peer {
	if _, err := os.Stat("/usr/include/modbus/modbus.h"); err != nil {
		t.Skip("skipped: libmodbus is not installed (Debian: libmodbus-dev)")
	}
	program := filepath.Join(t.TempDir(), "peer")
	out, err := exec.Command("gcc", "-O1", "-I/usr/include/modbus", "-o", program, "testdata/peers/libmodbus.c", "-lmodbus").CombinedOutput()
	require.NoError(t, err, string(out))
	return func(t *testing.T, args ...string) *exec.Cmd {
		return exec.CommandContext(t.Context(), program, args...)
	}
}

func modbusSerial(t *testing.T) peer {
	if os.Getenv("LEGWORK_PEERS") == "" {
		t.Skip("skipped: LEGWORK_PEERS names no folder with npm's modbus-serial in it")
	}
	return func(t *testing.T, args ...string) *exec.Cmd {
		return exec.CommandContext(t.Context(), "node", append([]string{"testdata/peers/modbus-serial.cjs"}, args...)...)
	}
}

// start runs a server until the test ends, from when it says that it is ready.
func (p peer) start(t *testing.T, over, where string) {
	c := p(t, "server", over, where)
	c.Stderr = os.Stderr
	out, err := c.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, c.Start())
	t.Cleanup(func() {
		_ = c.Process.Kill()
		_ = c.Wait()
	})
	line, err := bufio.NewReader(out).ReadString('\n')
	require.NoError(t, err)
	require.Equal(t, "ready\n", line)
}

// joined gives the names of two serial ports with a cable between them.
func joined(t *testing.T) (a, b string) {
	ends := make([]*os.File, 2)
	names := make([]string, 2)
	for i := range ends {
		far, near, err := pty.Open()
		require.NoError(t, err)
		_, err = term.MakeRaw(int(near.Fd()))
		require.NoError(t, err)
		t.Cleanup(func() { _ = near.Close() })
		ends[i], names[i] = far, near.Name()
	}
	go func() { _, _ = io.Copy(ends[0], ends[1]) }() // they end with the process
	go func() { _, _ = io.Copy(ends[1], ends[0]) }()
	return names[0], names[1]
}

func freePort(t *testing.T) string {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	defer l.Close()
	return strconv.Itoa(l.Addr().(*net.TCPAddr).Port)
}

// readsSixty reads the peer's registers, and an address that it lacks.
func readsSixty(t *testing.T, c Conn, strict bool) {
	defer c.Close()
	for range 20 {
		words, err := c.Registers(t.Context(), Read{1, ReadHolding, 0, 60})
		require.NoError(t, err)
		for i, w := range words {
			require.Equal(t, uint16(977*i), w)
		}
	}
	if strict { // one of the two answers whatever is asked
		_, err := c.Registers(t.Context(), Read{1, ReadHolding, 4000, 2})
		require.ErrorIs(t, err, IllegalDataAddress)
	}
}

func TestOurLinkReadsPeers(t *testing.T) {
	o := Options{Timeout: 2 * time.Second}
	for name, find := range map[string]func(*testing.T) peer{"libmodbus": libmodbus, "modbus-serial": modbusSerial} {
		t.Run(name+" over TCP", func(t *testing.T) {
			port := freePort(t)
			find(t).start(t, "tcp", port)
			c, err := DialTCP(t.Context(), "127.0.0.1:"+port, o)
			require.NoError(t, err)
			readsSixty(t, c, name == "libmodbus")
		})
		t.Run(name+" over RTU", func(t *testing.T) {
			p := find(t)
			ours, theirs := joined(t)
			p.start(t, "rtu", theirs)
			c, err := OpenRTU(t.Context(), Serial{Port: ours}, o)
			require.NoError(t, err)
			readsSixty(t, c, name == "libmodbus")
		})
	}
}

func TestPeersReadOurSimulator(t *testing.T) {
	var number atomic.Uint64
	unit := markedUnit(&number)
	unit.Before = nil
	unit.Identity = []string{"Tidewater", "K3", "1.0"}
	unit.Bank.Update(func(w serve.Writer) {
		for i := range 60 {
			w.SetWords(regmap.Holding, uint16(i), []uint16{uint16(977 * i)})
		}
	})
	s := serve.New(map[byte]*serve.Unit{1: unit})
	t.Cleanup(func() { _ = s.Close() })
	tcp, err := s.ListenTCP("127.0.0.1:0")
	require.NoError(t, err)
	rtu, err := s.ListenRTU("127.0.0.1:0", serve.Line{})
	require.NoError(t, err)
	line, err := s.ServePTY(serve.Line{})
	require.NoError(t, err)
	port := func(a net.Addr) string { return strconv.Itoa(a.(*net.TCPAddr).Port) }

	for name, find := range map[string]func(*testing.T) peer{"libmodbus": libmodbus, "modbus-serial": modbusSerial} {
		for over, where := range map[string]string{"tcp": port(tcp), "telnet": port(rtu), "rtu": line} {
			if name == "libmodbus" && over == "telnet" {
				continue // it has no RTU over TCP
			}
			t.Run(name+" "+over, func(t *testing.T) {
				out, err := find(t)(t, "client", over, where).CombinedOutput()
				require.NoError(t, err, string(out))
				got := strings.Fields(string(out))
				require.GreaterOrEqual(t, len(got), 62, string(out))
				for i := range 60 {
					require.Equal(t, strconv.Itoa(977*i&0xFFFF), got[i])
				}
				require.Equal(t, []string{"refused", "2"}, got[60:62])
				if name == "modbus-serial" && over == "tcp" {
					require.Equal(t, []string{"is", "K3"}, got[62:64])
				}
			})
		}
	}
}
