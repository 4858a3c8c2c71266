package link

import (
	"context"
	"errors"
	"fmt"
	"net"
	"os"
	"strconv"
	"strings"
	"sync/atomic"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/require"

	"legwork/probe/regmap"
	"legwork/sim/serve"
)

// A register's value says its address and the number of the request that was
// being made, so that an answer to any other shows.
func marked(address uint16, number uint64) uint16 { return address*977 ^ uint16(number*31) }

const markedRegisters = 120

// markedUnit serves registers that carry the number.
func markedUnit(number *atomic.Uint64) *serve.Unit {
	bank := serve.NewBank()
	return &serve.Unit{Bank: bank, Before: func() {
		n := number.Load()
		bank.Update(func(w serve.Writer) {
			words := make([]uint16, markedRegisters)
			for i := range words {
				words[i] = marked(uint16(i), n)
			}
			w.SetWords(regmap.Holding, 0, words)
		})
	}}
}

// exchanges is how many a run of mischief makes: enough to see something by
// default, and as many as the environment says for the table.
func exchanges(t *testing.T, usual int) int {
	if text := os.Getenv("LEGWORK_EXCHANGES"); text != "" {
		n, err := strconv.Atoi(text)
		require.NoError(t, err)
		return n
	}
	return usual
}

// outcome counts how requests ended.
type outcome struct {
	right, wrong int
	failures     map[string]int
}

// kindOf names a failure as it is told apart.
func kindOf(err error) string {
	var (
		exception Exception
		silent    NoAnswer
		other     OtherUnit
		bad       BadAnswer
		lost      lostError
	)
	switch {
	case errors.As(err, &exception):
		return fmt.Sprintf("exception %d", byte(exception))
	case errors.As(err, &silent) && silent.Partial > 0:
		return "cut short"
	case errors.As(err, &silent) && silent.Late > 0:
		return "late"
	case errors.As(err, &silent):
		return "silence"
	case errors.As(err, &other):
		return "another unit"
	case errors.As(err, &bad):
		return "bad answer"
	case errors.As(err, &lost):
		return "connection lost"
	}
	return "unnamed: " + err.Error()
}

// hammer makes n requests of three lengths through c.
func hammer(t *testing.T, c Conn, number *atomic.Uint64, n int) outcome {
	o := outcome{failures: map[string]int{}}
	for i := range n {
		number.Add(1)
		count := []uint16{40, 1, 40, 60}[i%4]
		address := uint16(i % 60)
		words, err := c.Registers(t.Context(), Read{1, ReadHolding, address, count})
		if err != nil {
			o.failures[kindOf(err)]++
			continue
		}
		require.Len(t, words, int(count))
		for j, w := range words {
			if w != marked(address+uint16(j), number.Load()) {
				o.wrong++
				break
			}
		}
		o.right++
	}
	return o
}

func (o outcome) String() string {
	var b strings.Builder
	fmt.Fprintf(&b, "%7d right %3d wrong", o.right, o.wrong)
	for _, name := range []string{"silence", "late", "cut short", "bad answer", "another unit", "connection lost"} {
		fmt.Fprintf(&b, "  %s %d", name, o.failures[name])
	}
	refused := 0
	for name, n := range o.failures {
		if strings.HasPrefix(name, "exception") {
			refused += n
		}
	}
	fmt.Fprintf(&b, "  exceptions %d", refused)
	return b.String()
}

// pipeTo serves one end of a pipe and gives the other, each time it is dialled.
func pipeTo(s *serve.Server, rtu bool) func(context.Context) (net.Conn, error) {
	return func(context.Context) (net.Conn, error) {
		ours, theirs := net.Pipe()
		if rtu {
			return ours, s.ServeRTU(theirs, serve.Line{})
		}
		return ours, s.ServeTCP(theirs)
	}
}

// However answers are spoilt, lost or late up to twice the time-out, no value
// of another register or another request is taken, and the link goes on.
func TestMischiefBringsNoWrongValue(t *testing.T) {
	const timeout = 200 * time.Millisecond
	n := exchanges(t, 4000)
	for _, share := range []float64{0.05 / 18, 0.05} {
		for _, kind := range []string{"tcp", "rtu over tcp", "rtu 9600 baud"} {
			t.Run(fmt.Sprintf("%s, %.1f %% of each prank", kind, 100*share), func(t *testing.T) {
				synctest.Test(t, func(t *testing.T) {
					mischief, err := serve.ParseMischief(fmt.Sprintf("all=%g", share), 1)
					require.NoError(t, err)
					mischief.Late, mischief.Pause = 2*timeout, timeout/2
					var number atomic.Uint64
					s := serve.New(map[byte]*serve.Unit{1: markedUnit(&number)})
					s.Spoil(mischief)
					c := spoiltLink(t, kind, s, Options{Timeout: timeout, Retries: 1})
					o := hammer(t, c, &number, n)
					t.Logf("%-14s %s\n   pranks %v", kind, o, mischief.Done())
					require.NoError(t, c.Close())
					require.NoError(t, s.Close())
					require.Zero(t, o.wrong)
					for name := range o.failures {
						require.NotContains(t, name, "unnamed")
					}
					require.Len(t, mischief.Done(), len(serve.Pranks()), "every prank was played")
					require.Greater(t, o.right, n/3, "the link recovers")
				})
			})
		}
	}
}

// Over sockets of this machine, in its own time: what is played there keeps clear
// of the time-out, so that a slow machine is not taken for a late meter.
func TestMischiefOverSockets(t *testing.T) {
	const pranks = "cut=0.01,corrupted=0.03,doubled=0.3,foreign-unit=0.01,foreign-function=0.01,noise=0.2,echo=0.2,slow-first=0.1,closed=0.05"
	for _, kind := range []string{"tcp", "rtu over tcp"} {
		t.Run(kind, func(t *testing.T) {
			mischief, err := serve.ParseMischief(pranks, 2)
			require.NoError(t, err)
			mischief.Pause = time.Millisecond
			var number atomic.Uint64
			s := serve.New(map[byte]*serve.Unit{1: markedUnit(&number)})
			s.Spoil(mischief)
			t.Cleanup(func() { _ = s.Close() })
			c := socketTo(t, kind, s, Options{Timeout: 100 * time.Millisecond, Retries: 1})
			defer c.Close()
			o := hammer(t, c, &number, exchanges(t, 200))
			t.Logf("%-14s %s", kind, o)
			require.Zero(t, o.wrong)
			require.Greater(t, o.right, 150)
		})
	}
}

func socketTo(t *testing.T, kind string, s *serve.Server, o Options) (c Conn) {
	var address net.Addr
	var err error
	if kind == "tcp" {
		address, err = s.ListenTCP("127.0.0.1:0")
		require.NoError(t, err)
		c, err = DialTCP(t.Context(), address.String(), o)
	} else {
		address, err = s.ListenRTU("127.0.0.1:0", serve.Line{})
		require.NoError(t, err)
		c, err = DialRTU(t.Context(), address.String(), o)
	}
	require.NoError(t, err)
	return c
}

func spoiltLink(t *testing.T, kind string, s *serve.Server, o Options) Conn {
	dial := pipeTo(s, kind != "tcp")
	if kind == "tcp" {
		return newTCP("kiln-house:502", o, dial)
	}
	var p pace
	if kind != "rtu over tcp" {
		p = Serial{Baud: 9600, StopBits: 1}.pace()
	}
	c, err := openRTU(t.Context(), "rtu kiln-house", serialPort, o, p, func(ctx context.Context) (wire, error) {
		conn, err := dial(ctx)
		return newPump(conn), err
	})
	require.NoError(t, err)
	return c
}
