package link

import (
	"context"
	"errors"
	"os"
	"time"

	"github.com/goburrow/modbus"
)

// RTU is a link to meters on a serial line: through a port of this machine, or
// through a converter that passes bytes on (RTU over TCP). It is a Conn.
//
// A frame on a serial line carries no transaction number, so an answer that
// comes late looks like the answer to the next request. After a time-out the
// line is therefore listened to for as long again before anything is asked, and
// what comes then is dropped. What lies beyond that is an answer later than
// twice the time-out, and one doubled on its way after the next request went out.
type RTU struct {
	asker
	line *upkeep[wire]
	pack *modbus.RTUClientHandler // packager only: it never connects or sends
	pace pace
	in   [4 * maxRTU]byte

	given     given         // the request that was given up last
	quiet     time.Time     // nothing is asked before
	lastByte  time.Time     // when the line was last seen busy
	filled    bool          // the last read left no room, so that there may be more
	lateAfter time.Duration // how long an answer took that came too late, since the last good one
}

// given is a request that was given up.
type given struct {
	want awaited
	sent time.Time
	open bool // its answer may still come
}

var _ Conn = (*RTU)(nil)

// DialRTU connects to a converter, "host:port", that passes RTU frames on. The
// error is an *Error. ctx is for connecting only.
func DialRTU(ctx context.Context, address string, o Options) (*RTU, error) {
	o = o.withDefaults()
	return openRTU(ctx, "rtu+tcp "+address, converter, o, pace{}, func(ctx context.Context) (wire, error) {
		conn, err := o.Dial(ctx, address)
		if err != nil {
			return nil, err
		}
		return newSocket(conn), nil
	})
}

// OpenRTU opens a serial port. The error is an *Error.
func OpenRTU(ctx context.Context, port Serial, o Options) (*RTU, error) {
	port = port.withDefaults()
	if err := port.check(); err != nil {
		return nil, &Error{Op: "connect", Place: "rtu " + port.String(), over: serialPort, Err: err}
	}
	return openRTU(ctx, "rtu "+port.String(), serialPort, o, port.pace(), newPorts(port).dial)
}

func openRTU(ctx context.Context, place string, over medium, o Options, p pace, dial func(context.Context) (wire, error)) (*RTU, error) {
	o = o.withDefaults()
	line := newUpkeep(dial, o.DialTimeout)
	r := &RTU{pack: modbus.NewRTUClientHandler(""), line: &line, pace: p}
	r.asker = asker{place: place, over: over, options: o, line: r.line, turn: make(chan struct{}, 1), lasting: true,
		exchange: r.exchangeRTU}
	r.line.again = r.redialled
	if _, err := r.line.connect(ctx); err != nil {
		r.line.shut()
		return nil, &Error{Op: "connect", Place: place, over: over, Err: err}
	}
	return r, nil
}

// exchangeRTU sends one request, once the line is settled, and brings its
// answer, which stands in r.in until the next exchange.
func (r *RTU) exchangeRTU(ctx context.Context, unit byte, asked *modbus.ProtocolDataUnit) (*modbus.ProtocolDataUnit, error) {
	w, err := r.line.connect(ctx)
	if err != nil {
		return nil, err
	}
	defer r.ended(ctx, w)
	r.pack.SlaveId = unit // whoever has the turn may set it
	adu, err := r.pack.Encode(asked)
	if err != nil {
		return nil, err
	}
	if err := r.outlast(ctx, w); err != nil {
		return nil, r.cause(err)
	}
	answer, err := r.talk(ctx, w, adu, answerTo(unit, asked))
	if err != nil {
		return nil, err
	}
	if err := checkAnswer(asked, answer); err != nil {
		return nil, err
	}
	return answer, nil
}

// ended drops a socket that the end of ctx has closed, or is about to, even if an
// answer was quicker.
func (r *RTU) ended(ctx context.Context, w wire) {
	if _, is := w.(*socket); is && ctx.Err() != nil {
		r.line.drop()
	}
}

// answerTo says what the answer to a request looks like.
func answerTo(unit byte, asked *modbus.ProtocolDataUnit) awaited {
	w := awaited{unit: unit, function: asked.FunctionCode}
	if asked.FunctionCode != encapsulated {
		w.data = 2 * int(asked.Data[3]) // at most 125, so the high byte is zero
	}
	return w
}

// talk sends adu once the line is silent, and waits for its answer.
func (r *RTU) talk(ctx context.Context, w wire, adu []byte, want awaited) (*modbus.ProtocolDataUnit, error) {
	h := hearing{want: want, adu: adu, pack: r.pack}
	begun, err := r.put(ctx, w, &h)
	if err == nil {
		err = r.hear(ctx, w, &h)
	}
	if begun.IsZero() { // nothing was sent
		return nil, r.cause(err)
	}
	r.account(&h, r.lastByte.Sub(begun), err)
	if h.size > 0 {
		r.quiet, r.lateAfter, r.given.open = time.Time{}, 0, false
		return h.answer, nil
	}
	if !errors.Is(err, os.ErrDeadlineExceeded) {
		return nil, r.cause(err)
	}
	return nil, r.unheard(&h)
}

// put sends the request and brings the first bytes that come after it, and says
// when it was sent. What comes before is nobody's answer: it is dropped, and the
// silence begins anew. A line that is never silent is asked all the same once the
// time-out is over.
func (r *RTU) put(ctx context.Context, w wire, h *hearing) (sent time.Time, err error) {
	begun := time.Now()
	for now := begun; ctx.Err() == nil; now = time.Now() {
		patient := now.Sub(begun) < r.options.Timeout
		if patient && r.pace.char > 0 {
			if silent, err := r.silent(ctx, w); err != nil {
				return sent, err
			} else if !silent {
				continue
			}
			now = time.Now()
		}
		h.deadline = now.Add(r.options.Timeout + r.pace.time(len(h.adu)+h.want.most()))
		n, asked, err := w.ask(ctx, question{h.adu, r.in[:], h.deadline, r.manner(now, patient)})
		if asked {
			r.given, r.quiet = given{h.want, now, true}, now.Add(r.lateWindow(h.adu, h.want))
			r.lastByte = now.Add(r.pace.time(len(h.adu)))
			if n > 0 {
				r.took(0, n)
			}
			h.n = n
			return now, err
		}
		if err != nil {
			return sent, err
		}
		r.strayed(n)
	}
	return sent, ctx.Err()
}

// took notes that n bytes were read to r.in[at:].
func (r *RTU) took(at, n int) { r.lastByte, r.filled = time.Now(), at+n == len(r.in) }

// oneFrame is less than any frame takes on a line of up to 115200 baud: 5
// characters of 10 bits are 0.43 ms. Since a read takes all that has come, no
// frame has come in whole so soon after one.
const oneFrame = 250 * time.Microsecond

func (r *RTU) manner(now time.Time, patient bool) manner {
	switch {
	case !patient:
		return regardless
	case now.Sub(r.lastByte) < oneFrame && !r.filled:
		return trusting
	}
	return looking
}

// lateWindow is how long after a request nothing else is asked unless it is
// answered: twice the time-out and an eighth more.
func (r *RTU) lateWindow(adu []byte, want awaited) time.Duration {
	return 2*r.options.Timeout + r.options.Timeout/8 + r.pace.time(len(adu)+want.most())
}

// cause gives the error of a wire its meaning.
func (r *RTU) cause(err error) error {
	switch {
	case err == nil:
		return nil
	case errors.Is(err, context.Canceled), errors.Is(err, context.DeadlineExceeded):
		return stopped{err}
	case errors.As(err, new(StuckPort)):
		return err
	}
	return r.line.orClosed(lostError{err})
}
