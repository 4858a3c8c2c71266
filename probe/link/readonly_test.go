package link

import (
	"context"
	"net"
	"reflect"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/require"

	"legwork/sim/serve"
)

// sweep calls every way in of a link with whatever values there are.
func sweep(t *testing.T, c Conn) {
	for f := range 256 {
		for _, count := range []uint16{0, 1, 2, 125, 126, 65535} {
			_, err := c.Registers(t.Context(), Read{1, Function(f), 0, count})
			require.Error(t, err)
		}
		_, err := c.Identify(t.Context(), byte(f))
		require.Error(t, err)
	}
	require.NoError(t, c.Close())
}

// swept is what a sweep sends, by function.
var swept = map[byte]int{3: 3, 4: 3, 43: 256}

// Whatever is called with whatever values, a meter sees functions 3, 4 and
// 43/14 and no other.
func TestNothingCanWrite(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		m := newMeter(func(k *talker) {
			for request := k.next(); request != nil; request = k.next() {
				k.say(withPDU(request, request[7]|exceptionFlag, byte(IllegalFunction)))
			}
		})
		sweep(t, m.link(t, Options{Timeout: short}))
		seen := map[byte]int{}
		for _, request := range m.requests() {
			seen[request[7]]++
			if request[7] == encapsulated {
				require.EqualValues(t, deviceID, request[8])
			}
		}
		require.Equal(t, swept, seen)
	})
}

// So on a serial line, where each write is one whole frame.
func TestNothingCanWriteOverRTU(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		line := &writes{}
		c, err := DialRTU(t.Context(), "kiln-house:4001", Options{Timeout: short, Dial: line.dial})
		require.NoError(t, err)
		sweep(t, c)
		seen := map[byte]int{}
		for _, frame := range line.frames {
			require.True(t, isWhole(frame), "%X", frame)
			seen[frame[1]]++
			if frame[1] == encapsulated {
				require.Len(t, frame, 7)
				require.EqualValues(t, deviceID, frame[2])
			} else {
				require.Len(t, frame, 8)
			}
		}
		require.Equal(t, swept, seen)
	})
}

// writes keeps what is written, and answers each with a refusal.
type writes struct {
	net.Conn
	far    net.Conn
	frames [][]byte
}

func (w *writes) dial(context.Context, string) (net.Conn, error) {
	w.Conn, w.far = net.Pipe()
	return w, nil
}

func (w *writes) Write(b []byte) (int, error) {
	w.frames = append(w.frames, append([]byte(nil), b...))
	answer := framed([]byte{b[0], b[1] | exceptionFlag, byte(IllegalFunction)})
	go func() { _, _ = w.far.Write(answer) }()
	return len(b), nil
}

// So within TLS, as the far side counts.
func TestNothingCanWriteOverTLS(t *testing.T) {
	a := newAuthority(t, "Tidewater")
	all := map[byte]*serve.Unit{}
	for u := range 256 {
		all[byte(u)] = &serve.Unit{Bank: serve.NewBank()} // refuses everything
	}
	s := serve.New(all)
	t.Cleanup(func() { _ = s.Close() })
	at, err := s.ListenTLS("127.0.0.1:0", a.server(a.pair("kiln.example", time.Hour)))
	require.NoError(t, err)
	c, err := DialTLS(t.Context(), at.String(), a.client(a.pair("bench", time.Hour)), Options{})
	require.NoError(t, err)
	sweep(t, c)
	require.Equal(t, swept, s.Counts().Functions)
}

// The sweep above reaches every way in: a new exported method has to be added
// to it, or this fails. TLS is a TCP.
func TestEveryWayInIsSwept(t *testing.T) {
	for _, way := range []reflect.Type{reflect.TypeFor[*TCP](), reflect.TypeFor[*RTU]()} {
		var names []string
		for m := range way.Methods() {
			names = append(names, m.Name)
		}
		require.Equal(t, []string{"Close", "Counts", "Identify", "Registers"}, names, way)
		for f := range way.Elem().Fields() {
			require.False(t, f.IsExported(), f.Name)
		}
	}
}
