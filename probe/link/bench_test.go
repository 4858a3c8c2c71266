package link

import (
	"bufio"
	"context"
	"encoding/binary"
	"fmt"
	"io"
	"net"
	"os"
	"os/exec"
	"slices"
	"strings"
	"testing"
	"time"

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
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		os.Exit(1)
	}
	fmt.Println(listener.Addr())
	go func() { // ends with the process that started it
		_, _ = io.Copy(io.Discard, os.Stdin)
		os.Exit(0)
	}()
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

// startSixty runs the server until the benchmark ends and gives its address.
func startSixty(b *testing.B, framing string) string {
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

// BenchmarkTCP reads 60 registers beside a bare exchange of the same bytes.
func BenchmarkTCP(b *testing.B) {
	address := startSixty(b, "tcp")
	c, err := DialTCP(b.Context(), address, Options{})
	require.NoError(b, err)
	defer c.Close()
	beside(b, address, c, bareTCP)
}

// BenchmarkRTUOverTCP does so through a converter.
func BenchmarkRTUOverTCP(b *testing.B) {
	address := startSixty(b, "rtu")
	c, err := DialRTU(b.Context(), address, Options{})
	require.NoError(b, err)
	defer c.Close()
	frame := []byte{1, 3, 0, 0, 0, sixty}
	beside(b, address, c, exchange{binary.LittleEndian.AppendUint16(frame, crc16(frame)), len(sixtyRTU)})
}

// exchange is a request and the length of its answer.
type exchange struct {
	request []byte
	answer  int
}

var bareTCP = exchange{[]byte{0, 1, 0, 0, 0, 6, 1, 3, 0, 0, 0, sixty}, sixtyAnswer}

// beside times c against one write and one read on a net.Conn, without deadline
// or check. Short blocks of the two take turns, since on a shared machine long
// ones measure the neighbours. of-bare is bare time / our time of the median
// call of a block, and of-bare-mean that of a block's sum; of each the median
// over all pairs of blocks.
func beside(b *testing.B, address string, c Conn, x exchange) {
	bare, err := net.Dial("tcp", address)
	require.NoError(b, err)
	defer bare.Close()
	ctx, cancel := context.WithCancel(b.Context()) // a caller's, that can end
	defer cancel()

	blocks := [2]block{{exchange: func() { exchangeBare(b, bare, x) }}, {exchange: func() { readSixty(ctx, b, c) }}}
	var medians, means []float64
	b.ReportAllocs()
	for b.Loop() {
		first := len(means) % 2
		blocks[first].run()
		blocks[1-first].run()
		medians = append(medians, blocks[0].median()/blocks[1].median())
		means = append(means, blocks[0].sum()/blocks[1].sum())
	}
	b.ReportMetric(middle(medians), "of-bare")
	b.ReportMetric(middle(means), "of-bare-mean")
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(2*len(blocks[0].took)*b.N), "ns/exchange")
}

// block is a run of exchanges, each timed.
type block struct {
	exchange func()
	took     [50]float64 // ns
}

func (k *block) run() {
	for i := range k.took {
		begin := time.Now()
		k.exchange()
		k.took[i] = float64(time.Since(begin))
	}
}

func (k *block) sum() (ns float64) {
	for _, t := range k.took {
		ns += t
	}
	return ns
}

func (k *block) median() float64 { return middle(k.took[:]) }

// middle sorts x and gives its median.
func middle(x []float64) float64 {
	slices.Sort(x)
	return x[len(x)/2]
}

func exchangeBare(b *testing.B, conn net.Conn, x exchange) {
	var buf [maxFrame]byte
	if _, err := conn.Write(x.request); err != nil {
		b.Fatal(err)
	}
	if n, err := conn.Read(buf[:]); err != nil || n != x.answer {
		b.Fatal(n, err)
	}
}

func readSixty(ctx context.Context, b *testing.B, c Conn) {
	words, err := c.Registers(ctx, Read{1, ReadHolding, 0, sixty})
	if err != nil || len(words) != sixty {
		b.Fatal(len(words), err)
	}
}
