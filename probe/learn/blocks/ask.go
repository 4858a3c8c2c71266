package blocks

import (
	"context"
	"errors"
	"time"

	"legwork/probe/link"
	"legwork/probe/regmap"
)

// answer is what became of a request.
type answer uint8

const (
	given   answer = iota
	refused        // by an exception
	silent         // nothing came, or nothing of use
)

// errSpent ends the search where it has asked or lasted as much as it may.
var errSpent = errors.New("enough was asked")

// span is a run of registers: from, and the first one after.
type span struct{ from, to int }

// hunt is one search.
type hunt struct {
	Options
	source Source
	tables []*table
	begun  time.Time
	asked  int

	busy    busy
	touch   *link.Read // a request that was answered, if only by a refusal
	mute    bool       // silence is this meter's way to refuse
	silence int        // requests in a row that nothing answered
	last    error

	at     Step
	sweeps int // places that the pass over all has left
	beside int // places that are left near what was found
	coarse int // the grid that was asked everywhere
}

// ask puts one question. The error ends the search: ctx, or a meter that has gone.
func (h *hunt) ask(ctx context.Context, t *table, at, n int) ([]uint16, answer, error) {
	h.at.Table, h.at.Address = t.Table, at
	q := link.Read{Unit: h.Unit, Function: link.Function(t.Function()), Address: uint16(at), Count: uint16(n)}
	for try := 0; ; try++ {
		words, is, err := h.put(ctx, q)
		switch {
		case err != nil:
			return nil, is, err
		case is == silent && try == 0 && !h.mute:
			continue // one answer may be lost
		case is == silent:
			return nil, is, h.stillThere(ctx, t)
		}
		t.answers++
		if n <= 2 && is == refused && errors.Is(h.last, link.IllegalFunction) && !t.gives {
			t.dead = true
		}
		if n == t.grain && is == refused {
			errors.As(h.last, &t.addressCode)
		}
		return words, is, nil
	}
}

// put sends a request, and again to a meter that is busy or failed for once.
func (h *hunt) put(ctx context.Context, q link.Read) ([]uint16, answer, error) {
	for try := 0; ; try++ {
		h.asked++
		h.at.Asked = h.asked
		if h.at.Stage != Reading {
			h.at.Left = h.left()
		}
		h.Step(h.at)
		words, err := h.source.Registers(ctx, q)
		if ctx.Err() != nil {
			return nil, silent, ctx.Err()
		}
		var code link.Exception
		switch {
		case err == nil:
			h.busy.passed(try)
			h.heard(q)
			return words, given, nil
		case !errors.As(err, &code), code == link.GatewayTarget, code == link.GatewayPath:
			h.last = err
			h.silence++
			return nil, silent, nil
		case h.busy.passes(code, try):
			h.at.Failed, h.at.FailedBy = h.busy.failed()
			if err := h.Wait(ctx, time.Duration(try+1)*100*time.Millisecond); err != nil {
				return nil, silent, err
			}
			continue
		}
		h.at.Failed, h.at.FailedBy = h.busy.failed()
		h.last = err
		h.heard(q)
		return nil, refused, nil
	}
}

func (h *hunt) heard(q link.Read) {
	h.silence = 0
	if h.touch == nil {
		h.touch = &q
	}
}

const (
	// mostSilent is how many requests in a row a table leaves unanswered before it
	// is left, where it has answered none.
	mostSilent = 6
	// touches is how often a meter that fell silent is asked what it did answer.
	touches = 3
)

// stillThere tells silence that refuses from a meter that has gone.
func (h *hunt) stillThere(ctx context.Context, t *table) error {
	t.silences++
	if t.answers == 0 && t.silences >= mostSilent {
		t.dead = true
	}
	if h.touch == nil {
		if h.allDead() {
			return Gone{Asked: h.asked, Never: true, Err: h.last}
		}
		return nil
	}
	if h.mute && h.silence < 10 {
		return nil
	}
	q, why := *h.touch, h.last
	for i := range touches {
		if err := h.Wait(ctx, time.Duration(i)*500*time.Millisecond); err != nil {
			return err
		}
		_, is, err := h.put(ctx, q)
		if err != nil {
			return err
		}
		if is != silent {
			h.mute, h.last = true, why
			return nil
		}
	}
	return Gone{Asked: h.asked, Err: h.last}
}

func (h *hunt) allDead() bool {
	for _, t := range h.tables {
		if !t.dead {
			return false
		}
	}
	return true
}

// spent reports that looking has to end, so that there is room for reading.
func (h *hunt) spent() bool {
	return h.asked+h.keep() >= h.Requests || h.Now().Sub(h.begun) >= h.Longest
}

// mostKept is how many registers a meter is reckoned to have that are worth
// reading; our choice, above all that were seen.
const mostKept = 1500

// keep is how many requests reading takes, and a block that is being grown.
func (h *hunt) keep() int {
	longest := 1
	for _, t := range h.tables {
		longest = max(longest, t.longest)
	}
	return 30 + h.Rounds*(1+min(h.at.Registers, mostKept)/longest)
}

// each is what one request took so far, on average.
func (h *hunt) each() time.Duration { return h.Now().Sub(h.begun) / time.Duration(max(1, h.asked)) }

// perBlock is about how many requests a block takes to be grown, as the bench of
// layouts has it.
const perBlock = 40

// left is about what is left, if the registers are where the present pass looks.
func (h *hunt) left() time.Duration {
	places := h.sweeps + h.beside
	if h.at.Registers == 0 {
		places += 2*near/h.fine() + perBlock
	}
	return min(time.Duration(places)*h.each(), h.Longest-h.Now().Sub(h.begun)) + h.Over
}

// table is what is known of one table.
type table struct {
	regmap.Table
	dead     bool // the meter doesn't have it
	gives    bool // a register of it was given
	answers  int
	silences int

	tried [1 << 16]bool // as the first register of a short request
	have  [1 << 16]bool
	word  [1 << 16]uint16
	runs  []span // requests that were answered, to read them again

	addressCode link.Exception // with which single registers are refused; 0 is not known

	grain   int // registers that are given together at the least: 1, or 2 aligned
	longest int // the longest request that was answered
	tooLong int // the shortest one known to be too long
}

func newTable(t regmap.Table) *table {
	return &table{Table: t, grain: 1, tooLong: link.MaxRegisters + 1}
}

// got keeps what was answered.
func (t *table) got(at int, words []uint16) {
	for i, w := range words {
		t.have[at+i], t.word[at+i] = true, w
	}
	t.gives = true
	t.longest = max(t.longest, len(words))
	t.runs = append(t.runs, span{at, at + len(words)})
}
