package link

import (
	"bufio"
	"context"
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
		go serveSixty(conn)
	}
}

// startSixty runs the server until the benchmark ends and gives its address.
func startSixty(b *testing.B) string {
	server := exec.Command(os.Args[0])
	server.Env = append(os.Environ(), serveSixtyVariable+"=1")
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

// BenchmarkTCP reads 60 registers beside a bare exchange of the same bytes: one
// write and one read on a net.Conn, without deadline or check. Short blocks of
// the two take turns, since on a shared machine long ones measure the
// neighbours. of-bare is bare time / our time of the median call of a block,
// and of-bare-mean that of a block's sum; of each the median over all pairs of
// blocks.
func BenchmarkTCP(b *testing.B) {
	address := startSixty(b)
	bare, err := net.Dial("tcp", address)
	require.NoError(b, err)
	defer bare.Close()
	c, err := DialTCP(b.Context(), address, Options{})
	require.NoError(b, err)
	defer c.Close()
	ctx, cancel := context.WithCancel(b.Context()) // a caller's, that can end
	defer cancel()

	blocks := [2]block{{exchange: func() { exchangeBare(b, bare) }}, {exchange: func() { readSixty(ctx, b, c) }}}
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

func exchangeBare(b *testing.B, conn net.Conn) {
	var buf [maxFrame]byte
	request := [12]byte{0, 1, 0, 0, 0, 6, 1, 3, 0, 0, 0, sixty}
	if _, err := conn.Write(request[:]); err != nil {
		b.Fatal(err)
	}
	if n, err := conn.Read(buf[:]); err != nil || n != sixtyAnswer {
		b.Fatal(n, err)
	}
}

func readSixty(ctx context.Context, b *testing.B, c *TCP) {
	words, err := c.Registers(ctx, Read{1, ReadHolding, 0, sixty})
	if err != nil || len(words) != sixty {
		b.Fatal(len(words), err)
	}
}
