package link

import (
	"bufio"
	"context"
	"encoding/binary"
	"fmt"
	"io"
	"log"
	"net"
	"os"
	"os/exec"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/goburrow/modbus"
	vetter "github.com/simonvetter/modbus"
	"github.com/stretchr/testify/require"
)

// serveSixtyVariable names the environment variable that turns the test binary
// into the server of the benchmarks. A process of its own, as a meter is: in
// this one the two sides would share a scheduler and a garbage collector.
const serveSixtyVariable = "LEGWORK_BENCHMARK_SERVER"

func TestMain(m *testing.M) {
	if os.Getenv(serveSixtyVariable) == "" {
		os.Exit(m.Run())
	}
	go func() { // ends with the process that started it
		_, _ = io.Copy(io.Discard, os.Stdin)
		os.Exit(0)
	}()
	if baud, is := strings.CutPrefix(os.Getenv(serveSixtyVariable), "pace:"); is {
		n, _ := strconv.Atoi(baud)
		servePaced(n)
		os.Exit(1)
	}
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		os.Exit(1)
	}
	fmt.Println(listener.Addr())
	for {
		conn, err := listener.Accept()
		if err != nil {
			os.Exit(1)
		}
		if os.Getenv(serveSixtyVariable) == "rtu" {
			go serveSame(conn, sixtyRTU)
		} else {
			go serveSixty(conn)
		}
	}
}

// sixtyRTU is the answer with 60 registers of unit 1 on a serial line.
var sixtyRTU = func() []byte {
	frame := append([]byte{1, 3, 2 * sixty}, make([]byte, 2*sixty)...)
	return binary.LittleEndian.AppendUint16(frame, crc16(frame))
}()

// serveSame answers each request of 8 bytes with the same answer.
func serveSame(conn net.Conn, answer []byte) {
	defer conn.Close()
	request := make([]byte, 8)
	for {
		if _, err := io.ReadFull(conn, request); err != nil {
			return
		}
		if _, err := conn.Write(answer); err != nil {
			return
		}
	}
}

// startServer runs the server until the benchmark ends and gives its address or port.
func startServer(b *testing.B, framing string) string {
	server := exec.Command(os.Args[0])
	server.Env = append(os.Environ(), serveSixtyVariable+"="+framing)
	stdin, err := server.StdinPipe()
	require.NoError(b, err)
	stdout, err := server.StdoutPipe()
	require.NoError(b, err)
	require.NoError(b, server.Start())
	b.Cleanup(func() {
		_ = stdin.Close()
		_ = server.Wait()
	})
	address, err := bufio.NewReader(stdout).ReadString('\n')
	require.NoError(b, err)
	return strings.TrimSpace(address)
}

const (
	sixty       = 60
	sixtyAnswer = headerSize + 2 + 2*sixty
)

// serveSixty answers each request for 60 registers with the same bytes but the
// transaction, as fast as it can.
func serveSixty(conn net.Conn) {
	defer conn.Close()
	request := make([]byte, 12)
	answer := append([]byte{0, 0, 0, 0, 0, 3 + 2*sixty, 1, 3, 2 * sixty}, make([]byte, 2*sixty)...)
	for {
		if _, err := io.ReadFull(conn, request); err != nil {
			return
		}
		copy(answer, request[:2])
		if _, err := conn.Write(answer); err != nil {
			return
		}
	}
}

// BenchmarkTCP reads 60 registers: this link, and two libraries, beside a bare
// exchange of the same bytes.
func BenchmarkTCP(b *testing.B) {
	address := startServer(b, "tcp")
	c, err := DialTCP(b.Context(), address, Options{})
	require.NoError(b, err)
	h := modbus.NewTCPClientHandler(address)
	h.SlaveId, h.Timeout, h.IdleTimeout = 1, time.Second, 0
	run(b, []client{
		bare(b, address, exchange{[]byte{0, 1, 0, 0, 0, 6, 1, 3, 0, 0, 0, sixty}, sixtyAnswer}),
		ours(b, c),
		goburrow(b, h, h.Close),
		vetted(b, &vetter.ClientConfiguration{URL: "tcp://" + address, Timeout: time.Second}),
	}, 50, ofBare)
}

// BenchmarkRTUOverTCP does so through a converter, which goburrow can't.
func BenchmarkRTUOverTCP(b *testing.B) {
	address := startServer(b, "rtu")
	c, err := DialRTU(b.Context(), address, Options{})
	require.NoError(b, err)
	frame := []byte{1, 3, 0, 0, 0, sixty}
	run(b, []client{
		bare(b, address, exchange{binary.LittleEndian.AppendUint16(frame, crc16(frame)), len(sixtyRTU)}),
		ours(b, c),
		vetted(b, &vetter.ClientConfiguration{URL: "rtuovertcp://" + address, Speed: 4_000_000, Timeout: time.Second}),
	}, 50, ofBare)
}

// client makes one exchange after the other.
type client struct {
	name     string
	exchange func()
	close    func() error
}

// exchange is a request and the length of its answer.
type exchange struct {
	request []byte
	answer  int
}

// bare is one write and one read on a net.Conn, without deadline or check.
func bare(b *testing.B, address string, x exchange) client {
	conn, err := net.Dial("tcp", address)
	require.NoError(b, err)
	return client{"bare", func() {
		var buf [maxFrame]byte
		if _, err := conn.Write(x.request); err != nil {
			b.Fatal(err)
		}
		if n, err := conn.Read(buf[:]); err != nil || n != x.answer {
			b.Fatal(n, err)
		}
	}, conn.Close}
}

func ours(b *testing.B, c Conn) client {
	ctx, cancel := context.WithCancel(b.Context()) // a caller's, that can end
	return client{"ours", func() {
		words, err := c.Registers(ctx, Read{1, ReadHolding, 0, sixty})
		if err != nil || len(words) != sixty {
			b.Fatal(len(words), err)
		}
	}, func() error { cancel(); return c.Close() }}
}

func goburrow(b *testing.B, h modbus.ClientHandler, end func() error) client {
	c := modbus.NewClient(h)
	return client{"goburrow", func() {
		if got, err := c.ReadHoldingRegisters(0, sixty); err != nil || len(got) != 2*sixty {
			b.Fatal(len(got), err)
		}
	}, end}
}

func vetted(b *testing.B, o *vetter.ClientConfiguration) client {
	o.Logger = log.New(io.Discard, "", 0)
	c, err := vetter.NewClient(o)
	require.NoError(b, err)
	require.NoError(b, c.Open())
	require.NoError(b, c.SetUnitId(1))
	return client{"simonvetter", func() {
		if got, err := c.ReadRegisters(0, sixty, vetter.HOLDING_REGISTER); err != nil || len(got) != sixty {
			b.Fatal(len(got), err)
		}
	}, c.Close}
}

// run times the clients in short blocks that take turns, another one first each
// time, since on a shared machine long ones measure the neighbours. figure gives
// what is reported of a client from the medians of all its blocks.
func run(b *testing.B, clients []client, each int, figure func(b *testing.B, i int, medians [][]float64) float64) {
	medians := make([][]float64, len(clients))
	took := make([]float64, each)
	for b.Loop() {
		first := len(medians[0])
		for i := range clients {
			at := (first + i) % len(clients)
			clients[at].exchange() // whatever stood before it is not its own
			for k := range took {
				begin := time.Now()
				clients[at].exchange()
				took[k] = float64(time.Since(begin))
			}
			medians[at] = append(medians[at], middle(took))
		}
	}
	b.ReportMetric(0, "ns/op")
	for i, c := range clients {
		b.ReportMetric(figure(b, i, medians), c.name)
		require.NoError(b, c.close())
	}
}

// ofBare is the median, over all rounds, of the bare exchange's time / a client's
// in the same round; for the bare one the microseconds that it takes.
func ofBare(_ *testing.B, i int, medians [][]float64) float64 {
	if i == 0 {
		return middle(slices.Clone(medians[0])) / 1000
	}
	var ratios []float64
	for round, took := range medians[i] {
		ratios = append(ratios, medians[0][round]/took)
	}
	return middle(ratios)
}

// middle sorts x and gives its median.
func middle(x []float64) float64 {
	slices.Sort(x)
	return x[len(x)/2]
}
