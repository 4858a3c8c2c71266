package blocks

import (
	"context"
	"errors"
	"time"

	"legwork/probe/learn/image"
)

// Take finds the registers that a meter lets be read and gives what they held
// at some times. Where it found none the error is a Nothing, and where the meter
// doesn't answer any more a Gone; where ctx ended, it is that of ctx.
func Take(ctx context.Context, s Source, o Options) (*image.Image, error) {
	h := &hunt{Options: o.withDefaults(), source: s}
	h.begun = h.Now()
	for _, t := range h.Tables {
		h.tables = append(h.tables, newTable(t))
	}
	return h.take(ctx)
}

// sweep is one pass over places in all tables.
type sweep struct {
	stage  Stage
	places []int
	grid   int // how coarse it is; 0 is no grid
}

// passes are the sweeps in their order: where blocks are likeliest, and then from
// a coarse grid to a fine one, so that the widest are found first. What was found
// and isn't enough has its neighbours asked before the next one.
func (h *hunt) passes() []sweep {
	all := span{h.From, h.To + 1}
	var passes []sweep
	grids := []int{64, 32, middle, fine}
	if h.narrowed() {
		grids = []int{middle, fine, 1}
	} else {
		for _, places := range [][]int{firstPlaces(), nextPlaces(), morePlaces()} {
			passes = append(passes, sweep{Usual, places, 0}, sweep{stage: Near})
		}
	}
	for _, step := range grids {
		passes = append(passes, sweep{Grid, gridPlaces(all, step), step}, sweep{stage: Near})
	}
	return passes
}

// narrowed reports a range that was asked for: every register of it is asked.
func (h *hunt) narrowed() bool { return h.To-h.From < low*2 }

func (h *hunt) take(ctx context.Context) (*image.Image, error) {
	var best *image.Image
	var looked int // registers that best has seen
	for _, pass := range h.passes() {
		err := h.sweep(ctx, pass)
		if err != nil && !errors.Is(err, errSpent) {
			return nil, err
		}
		if n := h.registers(); n > looked {
			im, failed := h.read(ctx)
			if failed != nil {
				return nil, failed
			}
			if best, looked = im, n; h.Enough(im) {
				return im, nil
			}
		}
		if err != nil || h.allDead() {
			break
		}
		if pass.grid > 0 {
			h.coarse = pass.grid
		}
	}
	if best == nil {
		if h.touch == nil && h.last != nil {
			return nil, Gone{Asked: h.asked, Never: true, Err: h.last}
		}
		return nil, Nothing{Asked: h.asked, Whole: h.coarse == 1 || h.allDead(), Coarsest: h.coarse,
			Failed: h.at.Failed, FailedBy: h.at.FailedBy}
	}
	return best, nil
}

// sweep asks at places of all tables in turn, and looks on wherever a register
// is given.
func (h *hunt) sweep(ctx context.Context, s sweep) error {
	if s.stage == Near {
		return h.closely(ctx)
	}
	h.at.Stage, h.at.Done, h.at.Most = s.stage, 0, len(s.places)*len(h.tables)
	for _, at := range s.places {
		for _, t := range h.tables {
			h.at.Stage, h.at.Done = s.stage, h.at.Done+1
			h.sweeps = h.at.Most - h.at.Done
			if err := h.probe(ctx, t, at, true); err != nil {
				return err
			}
		}
	}
	return nil
}

// closely asks every register beside what was found.
func (h *hunt) closely(ctx context.Context) error {
	for _, t := range h.tables {
		places := t.closePlaces()
		for i, at := range places {
			h.beside = len(places) - i
			h.at.Stage, h.at.Done, h.at.Most = Near, i, len(places)
			if err := h.probe(ctx, t, at, true); err != nil {
				return err
			}
		}
	}
	h.beside = 0
	return nil
}

// probe asks for one register, and for the rest of its block where it is given.
func (h *hunt) probe(ctx context.Context, t *table, at int, around bool) error {
	if t.dead || at < h.From || at > h.To || t.have[at] || t.tried[at] {
		return nil
	}
	if h.spent() {
		return errSpent
	}
	t.tried[at] = true
	n := min(t.grain, h.To-at+1)
	words, is, err := h.ask(ctx, t, at, n)
	if err != nil {
		return err
	}
	if is == refused && !t.gives && at < h.To && (h.at.Stage == Usual || h.narrowed()) && t.answers < mostPairs {
		// Some meters give no half of a value.
		if words, is, err = h.ask(ctx, t, at, 2); err != nil {
			return err
		}
		if is == given {
			t.grain = 2
		}
	}
	if is != given {
		return nil
	}
	if mirror, err := h.mirrors(ctx, t, at); mirror || err != nil {
		return err
	}
	t.got(at, words)
	h.at.Registers += len(words)
	before := h.at
	h.at.Stage = Growing
	err = h.grow(ctx, t, at)
	h.at.Stage, h.at.Done, h.at.Most = before.Stage, before.Done, before.Most
	if err != nil || !around {
		return err
	}
	return h.near(ctx, t, at)
}

// fine is the grid near what was found; on a slow line it is coarser.
func (h *hunt) fine() int {
	if h.each() > slow {
		return middle
	}
	return fine
}

// slow is what one request takes at most on a network of a site, and less than a
// refusal at 19,200 baud takes. Our choice.
const slow = 15 * time.Millisecond

// mirrors finds out whether a table shows what another does, as in meters that
// don't tell the two apart. Such a table is left.
func (h *hunt) mirrors(ctx context.Context, t *table, at int) (bool, error) {
	for _, other := range h.tables {
		if other == t || other.dead || t.gives {
			continue
		}
		s, ok := other.telling(at)
		if !ok {
			continue
		}
		a, is, err := h.ask(ctx, other, s.from, s.to-s.from)
		if err != nil || is != given {
			return false, err
		}
		b, is, err := h.ask(ctx, t, s.from, s.to-s.from)
		if err != nil || is != given {
			return false, err
		}
		if t.dead = alike(a, b); t.dead {
			return true, nil
		}
	}
	return false, nil
}

// telling is the longest request round a register that shows enough to compare.
func (t *table) telling(at int) (span, bool) {
	var best span
	for _, r := range t.runs {
		if r.from <= at+mirrorReach && r.to > at && r.to-r.from > best.to-best.from {
			best = r
		}
	}
	n := 0
	for i := best.from; i < best.to; i++ {
		if !isBlank(t.word[i]) {
			n++
		}
	}
	return best, n >= mirrorWords
}

const (
	mirrorReach = 32
	mirrorWords = 6 // so many words are not alike by chance
)

// alike reports that more than half of the words that aren't blank are the same,
// or nearly.
func alike(a, b []uint16) bool {
	all, same := 0, 0
	for i := range a {
		if isBlank(a[i]) && isBlank(b[i]) {
			continue
		}
		all++
		if d := int(a[i]) - int(b[i]); max(d, -d)*100 <= int(max(a[i], b[i])) {
			same++
		}
	}
	return 2*same > all
}

// mostPairs is how many answers of a table may pass while pairs of registers are
// asked for as well.
const mostPairs = 200

// isNarrow reports a known register whose block is narrow.
func (t *table) isNarrow(at int) bool {
	from, to := at, at
	for from > 0 && t.have[from-1] && to-from < narrow {
		from--
	}
	for to <= lastAddress && t.have[to] && to-from < narrow {
		to++
	}
	return to-from < narrow
}

// near looks finely on both sides of a block, as far as there is always
// something new; register by register where the block is narrow.
func (h *hunt) near(ctx context.Context, t *table, at int) error {
	before := h.at
	defer func() { h.at.Stage, h.at.Done, h.at.Most, h.beside = before.Stage, before.Done, before.Most, 0 }()
	for _, dir := range []int{1, -1} {
		edge := at
		for next := at; dir*(next-edge) <= near && next >= h.From && next <= h.To; {
			if t.have[next] {
				if !isBlank(t.word[next]) {
					edge = next
				}
				next += dir
				continue
			}
			sides := near / h.fine() * (1 + max(dir, 0)) // upwards is the first
			h.beside = sides - dir*(next-edge)/h.fine()
			h.at.Stage, h.at.Done, h.at.Most = Near, 2*near/h.fine()-h.beside, 2*near/h.fine()
			if next%h.fine() == 0 || dir*(next-edge) <= close && t.isNarrow(edge) {
				if err := h.probe(ctx, t, next, false); err != nil {
					return err
				}
			}
			if !t.have[next] {
				next += dir
			}
		}
	}
	return nil
}
