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
// neighbours. of-bare is the median over pairs of blocks of bare time / our
// time; the aim is 0.95.
func BenchmarkTCP(b *testing.B) {
	address := startSixty(b)
	bare, err := net.Dial("tcp", address)
	require.NoError(b, err)
	defer bare.Close()
	c, err := DialTCP(b.Context(), address, Options{})
	require.NoError(b, err)
	defer c.Close()

	const block = 50
	ctx, cancel := context.WithCancel(b.Context()) // a caller's, that can end
	defer cancel()
	exchanges := []func(){func() { exchangeBare(b, bare) }, func() { readSixty(ctx, b, c) }}
	var ratios []float64
	b.ReportAllocs()
	for b.Loop() {
		var took [2]time.Duration
		first := len(ratios) % 2
		for _, which := range []int{first, 1 - first} {
			begin := time.Now()
			for range block {
				exchanges[which]()
			}
			took[which] = time.Since(begin)
		}
		ratios = append(ratios, float64(took[0])/float64(took[1]))
	}
	slices.Sort(ratios)
	b.ReportMetric(ratios[len(ratios)/2], "of-bare")
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(2*block*b.N), "ns/exchange")
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
