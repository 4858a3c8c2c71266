package link

import (
	"context"
	"io"
	"net"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// echoServer answers each request for 60 registers with the same bytes but the
// transaction, as fast as it can.
func echoServer(b *testing.B) string {
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(b, err)
	b.Cleanup(func() { _ = listener.Close() })
	go func() {
		for {
			conn, err := listener.Accept()
			if err != nil {
				return
			}
			go serveSixty(conn)
		}
	}()
	return listener.Addr().String()
}

const (
	sixty       = 60
	sixtyAnswer = headerSize + 2 + 2*sixty
)

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
	address := echoServer(b)
	bare, err := net.Dial("tcp", address)
	require.NoError(b, err)
	defer bare.Close()
	c, err := DialTCP(b.Context(), address, Options{})
	require.NoError(b, err)
	defer c.Close()

	const block = 50
	exchanges := []func(){func() { exchangeBare(b, bare) }, func() { readSixty(b, c) }}
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

func readSixty(b *testing.B, c *TCP) {
	words, err := c.Registers(context.Background(), Read{1, ReadHolding, 0, sixty})
	if err != nil || len(words) != sixty {
		b.Fatal(len(words), err)
	}
}
