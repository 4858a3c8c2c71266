package blocks

import (
	"context"
	"errors"

	"legwork/probe/link"
)

// blankRun is how many registers in a row that all hold the same say that a
// meter answers where it has nothing. Records of one phase were seen to be 128
// apart; our choice.
const blankRun = 160

// grow reads on from a register that was given, upwards and downwards, to the
// edges of its block, or to where nothing stands any more.
func (h *hunt) grow(ctx context.Context, t *table, at int) error {
	if err := h.growth(ctx, t, at+1, true); err != nil {
		return err
	}
	return h.growth(ctx, t, at-1, false)
}

// edge is a side of a block that is being grown.
type edge struct {
	t    *table
	up   bool
	at   int // the next register that isn't known
	end  int // the last one that may be asked in this direction
	fail int // registers from at, of which one at least is thought unreadable; 0 is not known
	by   int // how long the request was that says so
}

// skip goes on over what is known.
func (e *edge) skip() {
	for e.room() > 0 && e.t.have[e.at] {
		e.step(1)
	}
}

func (e *edge) step(n int) {
	if e.up {
		e.at += n
	} else {
		e.at -= n
	}
	e.fail = max(0, e.fail-n)
}

// room is how many registers may be asked from at.
func (e *edge) room() int {
	if e.up {
		return e.end - e.at + 1
	}
	return e.at - e.end + 1
}

// first is where a request of n registers from at begins.
func (e *edge) first(n int) int {
	if e.up {
		return e.at
	}
	return e.at - n + 1
}

// length is how much is asked for next: half of what was refused, and no more
// than the meter gives at once.
func (e *edge) length() int {
	n := min(e.t.tooLong-1, e.room())
	if e.t.tooLong <= link.MaxRegisters && e.fail == 0 {
		n = min(n, (e.t.longest+e.t.tooLong)/2)
	}
	if e.fail > 0 {
		n = min(n, max(1, e.fail/2))
	}
	if e.t.grain > 1 && n > 1 {
		n -= n % e.t.grain
	}
	return max(e.unknown(n), min(e.t.grain, e.room()))
}

// unknown is how many registers from at are not known, at most n.
func (e *edge) unknown(n int) int {
	far := *e
	for i := range n {
		if e.t.have[far.at] {
			return i
		}
		far.step(1)
	}
	return n
}

func (h *hunt) growth(ctx context.Context, t *table, from int, up bool) error {
	e := edge{t: t, up: up, at: from, end: h.From}
	if up {
		e.end = h.To
	}
	for first := true; ; first = false {
		e.skip()
		if e.room() < t.grain || !first && h.blankBefore(&e) || e.fail > 0 && e.fail <= t.grain && e.by <= t.longest {
			return nil
		}
		if h.spent() {
			return errSpent
		}
		n := e.length()
		at := e.first(n)
		words, is, err := h.ask(ctx, t, at, n)
		switch {
		case err != nil:
			return err
		case is == given:
			t.got(at, words)
			h.at.Registers += n
			e.given(n)
		case n <= t.grain:
			return nil
		case is == refused && errors.Is(h.last, link.IllegalDataValue) && n > t.longest && t.addressCode != 0 &&
			t.addressCode != link.IllegalDataValue:
			t.tooLong = n // the meter says so: it has another code for addresses
		default:
			if err := h.refusedAt(ctx, &e, n); err != nil {
				return err
			}
		}
	}
}

// refusedAt notes a refusal: of the length, where as many registers that are known
// are refused too.
func (h *hunt) refusedAt(ctx context.Context, e *edge, n int) error {
	if e.fail, e.by = n, n; n <= e.t.longest {
		return nil
	}
	from, ok := e.known(n)
	if !ok {
		return nil
	}
	words, is, err := h.ask(ctx, e.t, from, n)
	switch {
	case err != nil:
		return err
	case is == given:
		e.t.got(from, words)
	default:
		e.t.tooLong, e.fail = n, 0
	}
	return nil
}

// known is where n registers that are known begin, next to the edge.
func (e *edge) known(n int) (from int, ok bool) {
	back := edge{t: e.t, up: !e.up, at: e.at + 1}
	if e.up {
		back.at = e.at - 1
	}
	from = back.first(n)
	for i := range n {
		if from < 0 || from+i > lastAddress || !e.t.have[from+i] {
			return 0, false
		}
	}
	return from, true
}

// given goes on after an answer. Where all that was thought to hold an edge was
// given, the refusal was of the length.
func (e *edge) given(n int) {
	whole := e.fail > 0 && n >= e.fail
	e.step(n)
	if whole && e.by > e.t.longest {
		e.t.tooLong = min(e.t.tooLong, e.by)
	}
}

// blankBefore reports that the block has held one and the same word for so long
// that it is no block any more.
func (h *hunt) blankBefore(e *edge) bool {
	back := -1
	if !e.up {
		back = 1
	}
	for i := range blankRun {
		at := e.at + back*(i+1)
		if at < 0 || at > lastAddress || !e.t.have[at] || !isBlank(e.t.word[at]) || e.t.word[at] != e.t.word[e.at+back] {
			return false
		}
	}
	return true
}

// isBlank reports a word that stands where a meter has nothing: zero, or the
// mark of a value that isn't available. Common practice, no source.
func isBlank(w uint16) bool { return w == 0 || w == 0xFFFF || w == 0x8000 }
