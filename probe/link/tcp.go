package link

import (
	"context"
	"errors"
	"net"
	"os"
	"time"

	"github.com/goburrow/modbus"
)

// TCP is a link over Modbus TCP, to one meter or to a gateway with several
// behind it. It is a Conn.
type TCP struct {
	asker
	line  *stream
	pack  *modbus.TCPClientHandler // packager only: it never connects or sends
	watch watch

	given    [8]request // the last ones that were given up, in a ring
	gaveUp   int
	answered uint16 // transaction of the last answer
}

// request is one frame that was sent.
type request struct {
	transaction uint16
	sent        time.Time
}

var _ Conn = (*TCP)(nil)

// DialTCP connects to address, "host" or "host:port"; the port is 502 unless
// it is named. The error is an *Error. ctx is for connecting only.
func DialTCP(ctx context.Context, address string, o Options) (*TCP, error) {
	address, o = withPort(address, modbusPort), o.withDefaults()
	dial := func(ctx context.Context) (net.Conn, error) { return o.Dial(ctx, address) }
	return newTCP(address, o, dial).opened(ctx)
}

// opened connects for the first time.
func (t *TCP) opened(ctx context.Context) (*TCP, error) {
	if _, err := t.line.connect(ctx); err != nil {
		t.line.shut()
		return nil, &Error{Op: "connect", Place: t.place, Err: err}
	}
	return t, nil
}

func newTCP(address string, o Options, dial func(context.Context) (net.Conn, error)) *TCP {
	o = o.withDefaults()
	t := &TCP{pack: modbus.NewTCPClientHandler(""), line: &stream{upkeep: newUpkeep(dial, o.DialTimeout)}}
	t.asker = asker{
		place:    "tcp " + address,
		options:  o,
		line:     t.line,
		turn:     make(chan struct{}, 1),
		exchange: t.exchangeTCP,
	}
	t.line.again = t.redialled
	return t
}

// modbusPort is that of Modbus TCP (Implementation Guide V1.0b, 4.2).
const modbusPort = "502"

// withPort adds the port where the address names none.
func withPort(address, port string) string {
	if net.ParseIP(address) != nil {
		return net.JoinHostPort(address, port)
	}
	if _, _, err := net.SplitHostPort(address); err != nil {
		return address + ":" + port
	}
	return address
}

// Close ends the connection and every request in flight. It gives no error.
func (t *TCP) Close() error {
	t.watch.end()
	return t.asker.Close()
}

// exchangeTCP sends one request and brings its answer, which stands in the
// stream's buffer until the next exchange. Time is bounded by Options.Timeout
// and by ctx; the end of ctx closes the connection.
func (t *TCP) exchangeTCP(ctx context.Context, unit byte, asked *modbus.ProtocolDataUnit) (*modbus.ProtocolDataUnit, error) {
	conn, err := t.line.connect(ctx)
	if err != nil {
		return nil, err
	}
	// One packager for all units, so that a transaction number is never used
	// twice on a connection; whoever has the turn may set its unit.
	t.pack.SlaveId = unit
	adu, err := t.pack.Encode(asked)
	if err != nil {
		return nil, err
	}
	t.watch.begin(ctx, conn)
	frame, err := t.talk(conn, adu)
	t.watch.finish()
	if ctx.Err() != nil {
		t.line.drop() // it is closed or about to be, even if an answer was quicker
		if err != nil {
			return nil, stopped{ctx.Err()}
		}
	}
	if err != nil {
		return nil, err
	}
	return t.open(adu, frame, asked)
}

// strayed is what came while an answer was waited for and is none.
type strayed struct{ late, again, misnumbered int }

// talk sends adu and waits for the frame with its transaction number. Others
// are answers that come late: the standard has them discarded (Implementation
// Guide V1.0b, 4.4.1.3).
func (t *TCP) talk(conn net.Conn, adu []byte) ([]byte, error) {
	begun := request{transaction(adu), time.Now()}
	if err := t.line.allow(conn, begun.sent, t.options.Timeout); err != nil {
		return nil, err
	}
	received := t.line.received
	var s strayed
	frame, err := t.await(conn, adu, begun.sent, &s)
	late := errors.Is(err, os.ErrDeadlineExceeded)
	if late {
		// The last answer once more and no other: the gateway's numbers don't move on.
		s.misnumbered, s.again = s.misnumbered+s.again, 0
		t.given[t.gaveUp%len(t.given)] = begun
		t.gaveUp++
		err = NoAnswer{After: t.options.Timeout, Stray: s.late, Misnumbered: s.misnumbered, Partial: t.line.to - t.line.from}
	}
	t.tally.update(func(c *Counts) {
		c.Requests++
		c.BytesSent += uint64(len(adu))
		c.BytesReceived += t.line.received - received
		c.LateAnswers += uint64(s.late)
		c.Doubled += uint64(s.again)
		c.Misnumbered += uint64(s.misnumbered)
		switch {
		case err == nil:
			t.answered = begun.transaction
			c.Slowest = max(c.Slowest, t.line.lastByte.Sub(begun.sent))
		case late && t.line.received == received:
			c.Silences++
		}
	})
	return frame, err
}

func (t *TCP) await(conn net.Conn, adu []byte, now time.Time, s *strayed) ([]byte, error) {
	for sent := false; ; {
		frame, err := t.line.next(cutTCP)
		switch {
		case err != nil:
		case frame == nil && !sent:
			sent, err = t.line.ask(conn, adu, now)
		case frame == nil:
			err = t.line.read(conn)
		case sent && transaction(frame) == transaction(adu):
			return frame, nil
		default:
			t.sort(frame, s)
		}
		if err != nil {
			return nil, err
		}
	}
}

// sort tells what an answer to another transaction is, and notes how long one
// took that comes late.
func (t *TCP) sort(frame []byte, s *strayed) {
	number := transaction(frame)
	for i, g := range t.given {
		if g.transaction == number && !g.sent.IsZero() {
			took := time.Since(g.sent)
			t.given[i] = request{} // what comes once more isn't late
			t.tally.update(func(c *Counts) { c.Slowest = max(c.Slowest, took) })
			s.late++
			return
		}
	}
	if number == t.answered {
		s.again++
	} else {
		s.misnumbered++
	}
}

// open takes the answer out of a frame whose length cutTCP has bounded.
func (t *TCP) open(adu, frame []byte, asked *modbus.ProtocolDataUnit) (*modbus.ProtocolDataUnit, error) {
	if got := unitOf(frame); got != unitOf(adu) {
		if !t.options.LaxUnit || got != 0 && got != directUnit {
			return nil, OtherUnit{Asked: unitOf(adu), Got: got}
		}
		frame[headerSize-1] = unitOf(adu) // the packager knows no exception
	}
	if err := t.pack.Verify(adu, frame); err != nil {
		return nil, badAnswer(frame, "%v", err)
	}
	answer, err := t.pack.Decode(frame)
	if err != nil {
		return nil, badAnswer(frame, "%v", err)
	}
	if err := checkAnswer(asked, answer); err != nil {
		return nil, err
	}
	return answer, nil
}
