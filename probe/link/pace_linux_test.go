package link

import (
	"encoding/binary"
	"fmt"
	"runtime"
	"strconv"
	"testing"
	"time"

	"github.com/creack/pty"
	"github.com/goburrow/modbus"
	vetter "github.com/simonvetter/modbus"
	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"
	"golang.org/x/term"
)

// servePaced answers requests for 60 registers through a pseudo-terminal at the
// pace of a serial line, until the process ends. It sleeps to the microsecond,
// which the runtime's timers don't: the time that is measured is to be the
// client's, not the meter's.
func servePaced(baud int) {
	runtime.LockOSThread()
	_ = unix.Prctl(unix.PR_SET_TIMERSLACK, 1, 0, 0, 0)
	far, near, err := pty.Open()
	if err != nil {
		return
	}
	if _, err := term.MakeRaw(int(near.Fd())); err != nil {
		return
	}
	fmt.Println(near.Name())
	char := time.Second * 11 / time.Duration(baud)
	fd := int(far.Fd()) // blocking, so that the kernel wakes this very thread
	request := make([]byte, 64)
	for have := 0; ; {
		n, err := unix.Read(fd, request[have:])
		if err != nil {
			return
		}
		if have += n; have < 8 {
			continue
		}
		have = 0
		var due unix.Timespec
		_ = unix.ClockGettime(unix.CLOCK_MONOTONIC, &due)
		at := due.Nano() + int64(8*char)
		for rest := sixtyRTU; len(rest) > 0; {
			part := rest[:min(16, len(rest))] // as many as a serial adapter hands on at once
			at += int64(len(part)) * int64(char)
			due = unix.NsecToTimespec(at)
			for unix.ClockNanosleep(unix.CLOCK_MONOTONIC, unix.TIMER_ABSTIME, &due, nil) == unix.EINTR {
			}
			if _, err := unix.Write(fd, part); err != nil {
				return
			}
			rest = rest[len(part):]
		}
	}
}

// BenchmarkPacedWire reads 60 registers at the pace of a serial line, and gives
// for each client the share of the time that the line itself needs: 8 and 125
// characters of 11 bits, and one silence of 3.5, which a bare exchange leaves out.
func BenchmarkPacedWire(b *testing.B) {
	for _, baud := range []int{9600, 19200, 115200} {
		b.Run(strconv.Itoa(baud), func(b *testing.B) {
			name := startServer(b, "pace:"+strconv.Itoa(baud))
			p := Serial{Baud: baud, StopBits: 1}.pace()
			wire, gap := float64(p.time(8+125)), float64(p.gap())
			clients := []client{barePort(b, name), ourPort(b, name, baud), goburrowPort(b, name, baud), vetterPort(b, name, baud)}
			run(b, clients, 3, func(b *testing.B, i int, medians [][]float64) float64 {
				ideal := wire + gap
				if i == 0 {
					ideal = wire
				}
				return ideal / middle(medians[i])
			})
		})
	}
}

func barePort(b *testing.B, name string) client {
	p, err := newPorts(Serial{Port: name}.withDefaults()).open()
	require.NoError(b, err)
	request := binary.LittleEndian.AppendUint16([]byte{1, 3, 0, 0, 0, sixty}, crc16([]byte{1, 3, 0, 0, 0, sixty}))
	buffer := make([]byte, 256)
	return client{"bare", func() {
		if _, err := p.Write(request); err != nil {
			b.Fatal(err)
		}
		for got := 0; got < len(sixtyRTU); {
			n, err := p.Read(buffer)
			if err != nil {
				b.Fatal(err)
			}
			got += n
		}
	}, p.Close}
}

func ourPort(b *testing.B, name string, baud int) client {
	c, err := OpenRTU(b.Context(), Serial{Port: name, Baud: baud}, Options{})
	require.NoError(b, err)
	return ours(b, c)
}

func goburrowPort(b *testing.B, name string, baud int) client {
	h := modbus.NewRTUClientHandler(name)
	h.BaudRate, h.Parity, h.SlaveId, h.Timeout, h.IdleTimeout = baud, "E", 1, time.Second, 0
	return goburrow(b, h, h.Close)
}

func vetterPort(b *testing.B, name string, baud int) client {
	return vetted(b, &vetter.ClientConfiguration{URL: "rtu://" + name, Speed: uint(baud), Parity: vetter.PARITY_EVEN, Timeout: time.Second})
}
