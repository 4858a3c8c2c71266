package seek

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/require"

	"legwork/probe/link"
	"legwork/probe/regmap"
	"legwork/sim/serve"
)

// bus is a line on which units answer at one setting only.
type bus struct {
	setting  string
	server   *serve.Server
	address  string
	garbled  bool // other settings hear garbage instead of nothing
	garbage  string
	openings int
}

func newBus(t *testing.T, setting string, units ...byte) *bus {
	b := &bus{setting: setting}
	all := map[byte]*serve.Unit{}
	for _, u := range units {
		bank := serve.NewBank()
		bank.Update(func(w serve.Writer) { w.SetWords(regmap.Holding, 0, []uint16{7}) })
		all[u] = &serve.Unit{Bank: bank, Identity: []string{"Tidewater", fmt.Sprint("K", u), "1"}}
	}
	b.server = serve.New(all)
	t.Cleanup(func() { _ = b.server.Close() })
	at, err := b.server.ListenRTU("127.0.0.1:0", serve.Line{})
	require.NoError(t, err)
	b.address = at.String()

	noisy := serve.New(all)
	m, err := serve.ParseMischief("corrupted=1", 1)
	require.NoError(t, err)
	noisy.Spoil(m)
	t.Cleanup(func() { _ = noisy.Close() })
	at, err = noisy.ListenRTU("127.0.0.1:0", serve.Line{})
	require.NoError(t, err)
	b.garbage = at.String()
	return b
}

// ways are the settings of a serial port, each leading to the bus as it would.
func (b *bus) ways(t *testing.T) []Way {
	silent := serve.New(nil)
	t.Cleanup(func() { _ = silent.Close() })
	at, err := silent.ListenRTU("127.0.0.1:0", serve.Line{})
	require.NoError(t, err)
	ways := SerialWays("/dev/ttyUSB0")
	for i := range ways {
		to := at.String()
		if b.garbled {
			to = b.garbage
		}
		if ways[i].Name == b.setting {
			to = b.address
		}
		ways[i].Open = func(ctx context.Context, timeout time.Duration) (link.Counted, error) {
			b.openings++
			return opened(link.DialRTU(ctx, to, link.Options{Timeout: timeout}))
		}
	}
	return ways
}

const quick = 10 * time.Millisecond

func TestFindsSettingAndUnit(t *testing.T) {
	for _, garbled := range []bool{false, true} {
		b := newBus(t, "19200 baud, even parity", 5)
		b.garbled = garbled
		var last Step
		r, err := Run(t.Context(), Options{Ways: b.ways(t), Units: []byte{1, 2, 3, 4, 5}, Timeout: quick, Step: func(s Step) { last = s }})
		require.NoError(t, err)
		require.Len(t, r.Found, 1)
		f := r.Found[0]
		require.Equal(t, "rtu:///dev/ttyUSB0?baud=19200&parity=even&unit=5", f.Way.Meter(f.Unit))
		require.Equal(t, 5, f.Good)
		require.Equal(t, "K5", f.Identity.Product)
		require.LessOrEqual(t, last.Done, last.Total)
	}
}

func TestFindsAllUnitsOfALine(t *testing.T) {
	b := newBus(t, "9600 baud, no parity", 1, 3, 4)
	r, err := Run(t.Context(), Options{Ways: b.ways(t), Units: []byte{1, 2, 3, 4}, Timeout: quick, All: true})
	require.NoError(t, err)
	var units []byte
	for _, f := range r.Found {
		units = append(units, f.Unit)
	}
	require.Equal(t, []byte{1, 3, 4}, units)
}

func TestTellsSilenceFromGarbage(t *testing.T) {
	b := newBus(t, "no such setting", 1)
	r, err := Run(t.Context(), Options{Ways: b.ways(t)[:4], Units: []byte{1}, Timeout: quick})
	require.NoError(t, err)
	require.Empty(t, r.Found)
	require.Empty(t, r.Heard)
	require.Equal(t, 8, r.Asked, "once, and once more with patience")

	b.garbled = true
	r, err = Run(t.Context(), Options{Ways: b.ways(t)[:4], Units: []byte{1}, Timeout: quick})
	require.NoError(t, err)
	require.Empty(t, r.Found)
	require.Len(t, r.Heard, 4)
	require.Positive(t, r.Heard[0].Counts.BytesReceived)
}

func TestStopsCleanly(t *testing.T) {
	b := newBus(t, "no such setting")
	ctx, cancel := context.WithCancel(t.Context())
	r, err := Run(ctx, Options{Ways: b.ways(t), Units: []byte{1, 2}, Timeout: quick, Step: func(s Step) {
		if s.Done == 5 {
			cancel()
		}
	}})
	require.ErrorIs(t, err, context.Canceled)
	require.Equal(t, 5, r.Asked)
}

func TestAPortThatCantBeOpenedEndsTheSearch(t *testing.T) {
	r, err := Run(t.Context(), Options{Ways: SerialWays("/dev/ttyUSB77"), Units: []byte{1, 2}})
	require.NoError(t, err)
	require.ErrorContains(t, r.Error, "there is no such port")
	require.Zero(t, r.Asked)
}

func TestFindsBehindAGateway(t *testing.T) {
	b := newBus(t, "", 3)
	at, err := b.server.ListenTCP("127.0.0.1:0")
	require.NoError(t, err)
	r, err := Run(t.Context(), Options{Ways: NetworkWays(at.String(), true), Units: []byte{1, 2, 3}, Timeout: quick})
	require.NoError(t, err)
	require.Len(t, r.Found, 1)
	require.Equal(t, fmt.Sprintf("tcp://%s/3", at), r.Found[0].Way.Meter(r.Found[0].Unit))

	rtu, err := b.server.ListenRTU("127.0.0.1:0", serve.Line{})
	require.NoError(t, err)
	r, err = Run(t.Context(), Options{Ways: NetworkWays(rtu.String(), true), Units: []byte{3}, Timeout: quick})
	require.NoError(t, err)
	require.Len(t, r.Found, 1)
	require.Equal(t, fmt.Sprintf("rtu+tcp://%s/3", rtu), r.Found[0].Way.Meter(r.Found[0].Unit))
}

// How long the whole search takes is stated and bounded.
func TestLongest(t *testing.T) {
	o := Options{Ways: SerialWays("COM5"), Units: make([]byte, 1)}
	const opened, asked = 50 * time.Millisecond, 200 * time.Millisecond
	var wires time.Duration // 15 characters, and the silence before, in each way and in the first four again
	for i, w := range o.Ways {
		c := w.Cost(asked)
		require.Greater(t, c.Alone, asked)
		require.Equal(t, asked+asked/8, c.Followed-c.Alone)
		wires += c.Alone - asked
		if i < 4 {
			wires += c.Alone - asked
		}
	}
	require.Equal(t, 28*opened+(24+4*4)*asked+wires, o.Longest())
	require.Equal(t, 28, o.Questions())
	require.Zero(t, Options{Ways: SerialWays("COM5")}.Longest())
}

func TestAnsweredIsAnAnswerOfTheMeter(t *testing.T) {
	require.True(t, answered(nil))
	require.True(t, answered(link.IllegalDataAddress))
	require.False(t, answered(link.GatewayTarget))
	require.False(t, answered(errors.New("silence")))
}

// A meter that takes longer than a question is given is found at the end.
func TestFindsASlowMeter(t *testing.T) {
	b := newBus(t, "", 1)
	at, err := b.server.ListenRTU("127.0.0.1:0", serve.Line{Turnaround: 120 * time.Millisecond})
	require.NoError(t, err)
	b.setting, b.address = "9600 baud, even parity", at.String()
	var last, slow Step
	const timeout = 60 * time.Millisecond
	r, err := Run(t.Context(), Options{Ways: b.ways(t)[:5], Units: []byte{1}, Timeout: timeout, Step: func(s Step) {
		if s.Confirming == 0 {
			last = s
		}
		if s.Confirming == 2 {
			slow = s
		}
	}})
	require.NoError(t, err)
	require.Len(t, r.Found, 1)
	require.Equal(t, "9600 baud, even parity", r.Found[0].Way.Name)
	require.Equal(t, 5+3, last.Done)
	require.Equal(t, 5+4, last.Total)
	require.GreaterOrEqual(t, last.Left, 2*4*timeout)
	require.GreaterOrEqual(t, slow.Left, 5*120*time.Millisecond, "four more of its kind, and who it is")
	require.Less(t, slow.Left, 5*4*timeout, "it is known by then how slow it is")
}

// far is what stands at the other end of a pipe.
type far func(net.Conn)

// silent takes what is asked and says nothing.
func silent(conn net.Conn) { _, _ = io.Copy(io.Discard, conn) }

// babbling is never silent for longer than two milliseconds.
func babbling(conn net.Conn) {
	go silent(conn)
	for {
		if _, err := conn.Write([]byte{0xF7}); err != nil {
			return
		}
		time.Sleep(2 * time.Millisecond)
	}
}

// closing does not want to be asked.
func closing(conn net.Conn) {
	_, _ = conn.Read(make([]byte, 1))
	_ = conn.Close()
}

func (f far) ways(rtu bool) []Way {
	o := link.Options{Dial: func(context.Context, string) (net.Conn, error) {
		ours, theirs := net.Pipe()
		go f(theirs)
		return ours, nil
	}}
	w := NetworkWays("kiln-house:4001", true)[0]
	if rtu {
		w = NetworkWays("kiln-house:4001", true)[1]
	}
	w.Open = func(ctx context.Context, timeout time.Duration) (link.Counted, error) {
		o.Timeout = timeout
		if rtu {
			return opened(link.DialRTU(ctx, "kiln-house:4001", o))
		}
		return opened(link.DialTCP(ctx, "kiln-house:4001", o))
	}
	return []Way{w, w, w}
}

// What is said to be the longest is, and what is said to be left at most is what
// is left at most: whoever is at the other end, and however many units are asked.
func TestAtMostIsKept(t *testing.T) {
	tests := []struct {
		name string
		far  far
		rtu  bool
	}{
		{"a silent line", silent, true},
		{"a silent gateway", silent, false},
		{"a gateway that closes", closing, false},
		{"a converter that closes", closing, true},
	}
	for _, test := range tests {
		for _, units := range []int{1, 2, 10, 247} {
			t.Run(fmt.Sprintf("%s, %d units", test.name, units), func(t *testing.T) {
				synctest.Test(t, func(t *testing.T) {
					o := Options{Ways: test.far.ways(test.rtu), Timeout: time.Second}
					for u := range units {
						o.Units = append(o.Units, byte(u+1))
					}
					type said struct {
						at   time.Time
						left time.Duration
					}
					var all []said
					o.Step = func(s Step) { all = append(all, said{time.Now(), s.Left}) }
					begun := time.Now()
					r, err := Run(t.Context(), o)
					require.NoError(t, err)
					require.Empty(t, r.Found)
					require.LessOrEqual(t, time.Since(begun), o.Longest())
					for _, s := range all {
						require.LessOrEqual(t, time.Since(s.at), s.left)
					}
				})
			})
		}
	}
}

// A line that is slower than was reckoned, here by the late windows, is learned:
// what is said to be left soon covers it.
func TestAtMostLearnsHowSlowTheLineIs(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		o := Options{Ways: far(silent).ways(true), Timeout: time.Second}
		for i := range o.Ways {
			o.Ways[i].Cost = nil
		}
		for u := range 40 {
			o.Units = append(o.Units, byte(u+1))
		}
		var at []time.Time
		var left []time.Duration
		o.Step = func(s Step) { at, left = append(at, time.Now()), append(left, s.Left) }
		begun := time.Now()
		_, err := Run(t.Context(), o)
		require.NoError(t, err)
		require.Greater(t, time.Since(begun), o.Longest(), "else this tests nothing")
		for i := len(at) / 4; i < len(at); i++ {
			require.LessOrEqual(t, time.Since(at[i]), left[i]+left[i]/20, "question %d", i)
		}
	})
}

// Every wait of a search ends with its context, within a second.
func TestStoppingEndsEveryWait(t *testing.T) {
	for name, f := range map[string]far{"silent": silent, "babbling": babbling, "closing": closing} {
		for _, rtu := range []bool{false, true} {
			t.Run(fmt.Sprint(name, rtu), func(t *testing.T) {
				synctest.Test(t, func(t *testing.T) {
					ctx, cancel := context.WithCancel(t.Context())
					stopped := time.Now().Add(7 * time.Second)
					time.AfterFunc(7*time.Second, cancel)
					o := Options{Ways: f.ways(rtu), Timeout: 5 * time.Second, Units: []byte{1, 2, 3, 4, 5, 6, 7, 8, 9}}
					_, err := Run(ctx, o)
					if name != "closing" {
						require.ErrorIs(t, err, context.Canceled)
						require.LessOrEqual(t, time.Since(stopped), time.Second)
					}
					time.Sleep(20 * time.Second) // what stands at the other end sees it
				})
			})
		}
	}
}

// A port that is of no use any more ends the search, and is named.
func TestAStuckPortEndsTheSearch(t *testing.T) {
	asked := 0
	w := Way{Open: func(context.Context, time.Duration) (link.Counted, error) { return stuck{&asked}, nil }}
	r, err := Run(t.Context(), Options{Ways: []Way{w, w}, Units: []byte{1, 2}})
	require.NoError(t, err)
	require.ErrorAs(t, r.Error, new(link.StuckPort))
	require.Equal(t, 1, asked)
}

type stuck struct{ asked *int }

func (s stuck) Registers(context.Context, link.Read) ([]uint16, error) {
	*s.asked++
	return nil, &link.Error{Op: "read", Place: "rtu COM5 9600 8N1", Err: link.StuckPort{}}
}
func (stuck) Identify(context.Context, byte) (link.Identity, error) { return link.Identity{}, nil }
func (stuck) Close() error                                          { return nil }
func (stuck) Counts() link.Counts                                   { return link.Counts{} }

// BenchmarkFind looks for a meter at the likeliest setting of a serial port, as
// find does: the whole search, with its confirmations. Under 3 s a time is what
// a person waits for without a thought.
func BenchmarkFind(b *testing.B) {
	bank := serve.NewBank()
	bank.Update(func(w serve.Writer) { w.SetWords(regmap.Holding, 0, []uint16{7}) })
	s := serve.New(map[byte]*serve.Unit{1: {Bank: bank, Identity: []string{"Tidewater", "K3", "1"}}})
	b.Cleanup(func() { _ = s.Close() })
	port, err := s.ServePTY(serve.Line{Baud: 9600, Bits: 10, Turnaround: 20 * time.Millisecond})
	if err != nil {
		b.Skip(err)
	}
	for b.Loop() {
		r, err := Run(b.Context(), Options{Ways: SerialWays(port), Units: []byte{1, 2, 3, 4, 5, 6, 7, 8, 9, 10}})
		if err != nil || len(r.Found) != 1 {
			b.Fatal(r, err)
		}
	}
}
