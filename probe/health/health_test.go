package health

import (
	"context"
	"fmt"
	"io"
	"net"
	"strings"
	"testing"
	"testing/synctest"
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
	step     func(Step)
}

func sixtyRegisters() *serve.Bank {
	bank := serve.NewBank()
	bank.Update(func(w serve.Writer) { w.SetWords(regmap.Holding, 0, make([]uint16, 60)) })
	return bank
}

// examine looks at the bench through a pipe, so that in a synctest bubble it
// takes no time; a server that takes one client needs its listener.
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
	o := Options{Blocks: []link.Read{{Unit: max(b.ask, 1), Function: link.ReadHolding, Count: 60}}, Timeout: timeout, Wait: waitFor, Step: b.step}
	lo := link.Options{Timeout: timeout, Dial: b.dial(t, s)}
	if b.serial {
		o.Conn, err = link.DialRTU(t.Context(), "kiln-house:4001", lo)
		require.NoError(t, err)
		o.Wire = func(int) time.Duration { return 0 }
	} else {
		lo.Retries = 1 // a late answer shows while the next try waits
		o.Conn, err = link.DialTCP(t.Context(), "kiln-house", lo)
		require.NoError(t, err)
		o.Network = true
		o.Again = func(ctx context.Context) (link.Conn, error) { return link.DialTCP(ctx, "kiln-house", lo) }
	}
	t.Cleanup(func() { _ = o.Conn.Close() })
	e, err := Examine(t.Context(), o)
	require.NoError(t, err)
	return e
}

func (b bench) dial(t *testing.T, s *serve.Server) func(context.Context, string) (net.Conn, error) {
	if b.single {
		s.OneClient()
		address, err := s.ListenTCP("127.0.0.1:0")
		require.NoError(t, err)
		return func(context.Context, string) (net.Conn, error) { return net.Dial("tcp", address.String()) }
	}
	return func(context.Context, string) (net.Conn, error) {
		ours, theirs := net.Pipe()
		if b.serial {
			return ours, s.ServeRTU(theirs, b.line)
		}
		return ours, s.ServeTCP(newEager(theirs))
	}
}

// eager takes what is written at once, as a socket does and a pipe doesn't: a
// server that is busy must not keep a client from asking again.
type eager struct {
	net.Conn
	came chan []byte
	rest []byte
}

func newEager(conn net.Conn) *eager {
	e := &eager{Conn: conn, came: make(chan []byte, 64)}
	go func() {
		defer close(e.came)
		for {
			b := make([]byte, 256)
			n, err := conn.Read(b)
			if err != nil {
				return
			}
			e.came <- b[:n]
		}
	}()
	return e
}

func (e *eager) Read(into []byte) (int, error) {
	if len(e.rest) == 0 {
		b, more := <-e.came
		if !more {
			return 0, io.EOF
		}
		e.rest = b
	}
	n := copy(into, e.rest)
	e.rest = e.rest[n:]
	return n, nil
}

// see examines in time of its own where it can.
func (b bench) see(t *testing.T, then func(t *testing.T, e Evidence)) {
	if b.single {
		then(t, b.examine(t))
		return
	}
	synctest.Test(t, func(t *testing.T) { then(t, b.examine(t)) })
}

func waitFor(ctx context.Context, d time.Duration) error {
	select {
	case <-time.After(d):
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
		{"a converter that repeats", bench{serial: true, mischief: "doubled=0.5"}, Strangers, "converter that repeats"},
		{"second master", bench{serial: true, mischief: "foreign-unit=0.3"}, Strangers, "only one may ask"},
		{"adapter's latency", bench{serial: true, line: serve.Line{Latency: 15500 * time.Microsecond}}, Latency, "latency timer"},
		{"gateway without its meter", bench{mischief: "exception-11=1"}, Gateway, "behind the gateway"},
		{"gateway for one client", bench{single: true}, OneClient, "other programs"},
		{"disturbed line", bench{serial: true, mischief: "corrupted=0.3"}, Spoilt, "termination"},
		{"answers get lost", bench{serial: true, mischief: "lost=0.3"}, Missing, "loose terminals"},
		{"answers get lost over TCP", bench{mischief: "lost=0.3"}, Missing, "loose terminals"},
		{"few answers get lost", bench{serial: true, mischief: "lost=0.1"}, Missing, "loose terminals"},
		{"every answer is late", bench{serial: true, mischief: "late=1", late: 2 * timeout}, Late, "--timeout"},
		{"registers that aren't there", bench{serial: true, mischief: "exception-2=1"}, Refused, "--map FILE"},
		{"a busy meter", bench{mischief: "exception-6=0.4"}, Refused, "ask less often"},
		{"a meter that is at fault", bench{mischief: "exception-4=1"}, Refused, "start it anew"},
		{"wrong transaction numbers", bench{mischief: "wrong-number=1"}, Numbers, "rtu+tcp://"},
		{"some wrong transaction numbers", bench{mischief: "wrong-number=0.3"}, Numbers, "rtu+tcp://"},
		{"answers of no use over TCP", bench{mischief: "foreign-function=0.3"}, Spoilt, "behind the gateway"},
		{"nothing of use over TCP", bench{mischief: "foreign-function=1"}, Garbage, "speak Modbus TCP"},
		{"connection breaks", bench{serial: true, mischief: "closed=0.3"}, Broken, "cable"},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			test.bench.see(t, func(t *testing.T, e Evidence) {
				findings := Findings(e)
				require.NotEmpty(t, findings)
				var told []string
				for _, f := range findings {
					told = append(told, fmt.Sprintf("%s: %s", f.Trouble, f.Seen))
					if f.Trouble == test.want {
						require.Contains(t, f.Check, test.check)
					}
				}
				require.Equal(t, test.want, findings[0].Trouble, told)
				require.NotContains(t, strings.Join(told, "\n"), "1 registers")
				if e.Counts.Answers == 0 {
					require.Zero(t, e.Longest, "what was never given has no length")
				}
				if test.want == Late {
					require.Len(t, findings, 1, told)
				}
			})
		})
	}
}

// A gateway that misnumbers hits earlier questions too; no waiting helps.
func TestWrongNumbersThatLookLate(t *testing.T) {
	f := Findings(Evidence{Network: true, Timeout: time.Second,
		Counts: link.Counts{Requests: 16, Timeouts: 16, LateAnswers: 7, Misnumbered: 9, BytesReceived: 200}})
	require.Len(t, f, 1)
	require.Equal(t, Numbers, f[0].Trouble)
}

func TestWireInOrder(t *testing.T) {
	for _, serial := range []bool{false, true} {
		bench{serial: serial}.see(t, func(t *testing.T, e Evidence) { require.Empty(t, Findings(e)) })
	}
}

func TestAdaptersTimerIsTold(t *testing.T) {
	f := Findings(Evidence{Timer: 16, Counts: link.Counts{Requests: 4, Answers: 4, BytesReceived: 40}})
	require.Len(t, f, 1)
	require.Equal(t, "the adapter's latency timer is 16 ms", f[0].Seen)
}

// Where nothing was answered something is said, whatever the counts are.
func TestNothingAnsweredIsNeverInOrder(t *testing.T) {
	for _, c := range []link.Counts{
		{Requests: 4},
		{Requests: 4, BytesReceived: 40},
		{Requests: 4, BytesReceived: 40, Timeouts: 4, Unusable: 4},
		{Requests: 4, BytesReceived: 40, BadAnswers: 4},
		{Requests: 4, Redials: 1},
		{Requests: 4, BytesReceived: 17, LateAnswers: 1, Timeouts: 4},
	} {
		require.NotEmpty(t, Findings(Evidence{Counts: c, Short: c}), c)
	}
}

// unanswered is a link that fails in one way.
type unanswered struct {
	link.Counted
	err   error
	asked int
}

func (u *unanswered) Registers(context.Context, link.Read) ([]uint16, error) {
	u.asked++
	return nil, u.err
}
func (u *unanswered) Counts() link.Counts { return link.Counts{} }

// A port that is of no use any more ends it, and so does ctx; no more is asked.
func TestEndsAtOnce(t *testing.T) {
	o := Options{Blocks: []link.Read{{Unit: 1, Function: link.ReadHolding, Count: 60}}, Timeout: timeout, Wait: waitFor}
	stuck := &unanswered{err: &link.Error{Op: "read", Err: link.StuckPort{}}}
	o.Conn = stuck
	_, err := Examine(t.Context(), o)
	require.ErrorAs(t, err, new(link.StuckPort))
	require.Equal(t, 1, stuck.asked)

	ctx, cancel := context.WithCancel(t.Context())
	left := &unanswered{err: link.IllegalDataAddress}
	o.Conn, o.Step = left, func(s Step) {
		if s.Asked == 2 {
			cancel()
		}
	}
	_, err = Examine(ctx, o)
	require.ErrorIs(t, err, context.Canceled)
	require.Equal(t, 3, left.asked)
}

// What is being tried is said before each question.
func TestSaysWhatIsTried(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		var phases []Phase
		b := bench{serial: true, mischief: "lost=0.3"}
		b.step = func(s Step) {
			if len(phases) == 0 || phases[len(phases)-1] != s.Phase {
				phases = append(phases, s.Phase)
			}
			require.LessOrEqual(t, s.Answered, s.Asked)
		}
		b.examine(t)
		require.Equal(t, []Phase{CloseTogether, WithPause, Lengths, Times}, phases)
	})
}
