package seek

import (
	"context"
	"errors"
	"fmt"
	"testing"
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
	require.Equal(t, (24+4*4)*200*time.Millisecond, o.Longest())
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
	var last Step
	const timeout = 60 * time.Millisecond
	r, err := Run(t.Context(), Options{Ways: b.ways(t)[:5], Units: []byte{1}, Timeout: timeout, Step: func(s Step) { last = s }})
	require.NoError(t, err)
	require.Len(t, r.Found, 1)
	require.Equal(t, "9600 baud, even parity", r.Found[0].Way.Name)
	require.Equal(t, 5+3, last.Done)
	require.Equal(t, 5+4, last.Total)
	require.Equal(t, 2*4*timeout, last.Left)
}

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
