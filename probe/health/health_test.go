package health

import (
	"context"
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"legwork/probe/link"
	"legwork/probe/regmap"
	"legwork/sim/serve"
)

const timeout = 40 * time.Millisecond

// bench is a simulated meter and the way it is reached.
type bench struct {
	unit     serve.Unit
	mischief string
	late     time.Duration
	single   bool
	serial   bool
	line     serve.Line
	ask      byte // the unit that is asked; 0 is 1
}

func sixtyRegisters() *serve.Bank {
	bank := serve.NewBank()
	bank.Update(func(w serve.Writer) { w.SetWords(regmap.Holding, 0, make([]uint16, 60)) })
	return bank
}

func (b bench) examine(t *testing.T) Evidence {
	b.unit.Bank = sixtyRegisters()
	s := serve.New(map[byte]*serve.Unit{1: &b.unit})
	t.Cleanup(func() { _ = s.Close() })
	m, err := serve.ParseMischief(b.mischief, 3)
	require.NoError(t, err)
	if m != nil {
		m.Late, m.Pause = b.late, timeout/4
	}
	s.Spoil(m)
	if b.single {
		s.OneClient()
	}
	o := Options{Blocks: []link.Read{{Unit: max(b.ask, 1), Function: link.ReadHolding, Count: 60}}, Timeout: timeout, Wait: waitFor}
	lo := link.Options{Timeout: timeout}
	if b.serial {
		address, err := s.ListenRTU("127.0.0.1:0", b.line)
		require.NoError(t, err)
		o.Serial = true
		o.Conn, err = link.DialRTU(t.Context(), address.String(), lo)
		require.NoError(t, err)
		o.Wire = func(int) time.Duration { return 0 }
	} else {
		address, err := s.ListenTCP("127.0.0.1:0")
		require.NoError(t, err)
		lo.Retries = 1 // a late answer shows while the next try waits
		o.Conn, err = link.DialTCP(t.Context(), address.String(), lo)
		require.NoError(t, err)
		o.Again = func(ctx context.Context) (link.Conn, error) { return link.DialTCP(ctx, address.String(), lo) }
	}
	t.Cleanup(func() { _ = o.Conn.Close() })
	e, err := Examine(t.Context(), o)
	require.NoError(t, err)
	return e
}

func waitFor(ctx context.Context, d time.Duration) error {
	select {
	case <-time.After(d / 10):
		return nil
	case <-ctx.Done():
		return ctx.Err()
	}
}

// Each trouble is brought about by the simulator, and told from the others.
func TestEachTroubleIsTold(t *testing.T) {
	tests := []struct {
		name  string
		bench bench
		want  Trouble
		check string
	}{
		{"no meter at that unit", bench{serial: true, ask: 9}, Nothing, "A and B exchanged"},
		{"every answer is garbled", bench{serial: true, mischief: "corrupted=1"}, Garbage, "speed and parity"},
		{"noise without bias", bench{serial: true, mischief: "noise=0.5"}, Noise, "bias"},
		{"slow meter", bench{serial: true, mischief: "late=0.3", late: 2 * timeout}, Late, "--timeout"},
		{"slow meter over TCP", bench{mischief: "late=0.3", late: 2 * timeout}, Late, "--timeout"},
		{"short blocks only", bench{serial: true, unit: serve.Unit{MostRegisters: 24}}, LongBlocks, "no longer"},
		{"needs a pause", bench{serial: true, unit: serve.Unit{Pause: 10 * time.Millisecond}}, TooFast, "pause"},
		{"two-wire adapter", bench{serial: true, mischief: "echo=1"}, Echo, "nothing needs mending"},
		{"second master", bench{serial: true, mischief: "foreign-unit=0.3"}, Strangers, "only one may ask"},
		{"adapter's latency", bench{serial: true, line: serve.Line{Latency: 15500 * time.Microsecond}}, Latency, "latency timer"},
		{"gateway without its meter", bench{mischief: "exception-11=1"}, Gateway, "behind the gateway"},
		{"gateway for one client", bench{single: true}, OneClient, "other programs"},
		{"disturbed line", bench{serial: true, mischief: "corrupted=0.3"}, Spoilt, "termination"},
		{"connection breaks", bench{serial: true, mischief: "closed=0.3"}, Broken, "cable"},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			findings := Findings(test.bench.examine(t))
			require.NotEmpty(t, findings)
			var told []string
			for _, f := range findings {
				told = append(told, fmt.Sprintf("%s: %s", f.Trouble, f.Seen))
				if f.Trouble == test.want {
					require.Contains(t, f.Check, test.check)
				}
			}
			require.Equal(t, test.want, findings[0].Trouble, told)
		})
	}
}

func TestWireInOrder(t *testing.T) {
	for _, serial := range []bool{false, true} {
		require.Empty(t, Findings(bench{serial: serial}.examine(t)))
	}
}

func TestAdaptersTimerIsTold(t *testing.T) {
	f := Findings(Evidence{Timer: 16, Counts: link.Counts{Requests: 4, Answers: 4, BytesReceived: 40}})
	require.Len(t, f, 1)
	require.Equal(t, "the adapter's latency timer is 16 ms", f[0].Seen)
}
