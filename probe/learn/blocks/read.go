package blocks

import (
	"context"
	"slices"
	"time"

	"legwork/probe/learn/image"
)

const margin = 16 // registers that are kept of a blank stretch at the end of a block

// registers is how many registers are known to hold something, or to stand
// beside one that does.
func (h *hunt) registers() int {
	n := 0
	for _, t := range h.tables {
		for _, s := range t.stretches() {
			n += s.to - s.from
		}
	}
	return n
}

// stretches are the runs of known registers, cut where they are blank for long.
func (t *table) stretches() []span {
	var all []span
	for _, s := range t.known() {
		all = append(all, t.cut(s)...)
	}
	return all
}

// known are the runs of known registers.
func (t *table) known() []span {
	var all []span
	for at := 0; at <= lastAddress; {
		if !t.have[at] {
			at++
			continue
		}
		to := at
		for to <= lastAddress && t.have[to] {
			to++
		}
		all = append(all, span{at, to})
		at = to
	}
	return all
}

// cut takes long blank stretches out of a run; of one that holds nothing, all.
func (t *table) cut(s span) []span {
	var all []span
	last := -1 // the last register that holds something
	for at := s.from; at < s.to; at++ {
		if isBlank(t.word[at]) {
			continue
		}
		switch {
		case last < 0 && at-s.from <= blankRun:
			all = append(all, span{s.from, 0})
		case last < 0, at-last > blankRun:
			all = append(all, span{at - margin, 0})
		}
		last = at
		all[len(all)-1].to = min(s.to, at+1+margin)
	}
	if last >= 0 && s.to-last <= blankRun {
		all[len(all)-1].to = s.to
	}
	return all
}

// parts are the requests that read a stretch: as few as the meter's longest
// answer allows, and of an even length, so that values of two registers that
// begin with the stretch aren't torn.
func (t *table) parts(s span) []part {
	var all []part
	most := t.longest
	if most > 1 {
		most -= most % 2
	}
	for at := s.from; at < s.to; at += most {
		all = append(all, part{span{at, min(at+most, s.to)}, false})
	}
	return all
}

// part is one request of a stretch.
type part struct {
	span
	proven bool // it was answered while the block was looked for
}

// stretch is one block that is being read.
type stretch struct {
	*table
	span
	parts []part
	block image.Block
}

// read reads all blocks some times over.
func (h *hunt) read(ctx context.Context) (*image.Image, error) {
	var all []*stretch
	for _, t := range h.tables {
		for _, s := range t.stretches() {
			all = append(all, &stretch{table: t, span: s, parts: t.parts(s)})
		}
	}
	im := &image.Image{}
	begun := h.Now()
	pace := h.Over / time.Duration(max(1, h.Rounds-1))
	h.at.Stage, h.at.Most = Reading, h.Rounds
	for n := range h.Rounds {
		h.at.Done, h.at.Left = n, time.Duration(h.Rounds-n)*pace
		if d := begun.Add(time.Duration(n) * pace).Sub(h.Now()); d > 0 {
			if err := h.Wait(ctx, d); err != nil {
				return nil, err
			}
		}
		from := h.Now()
		if err := h.round(ctx, all); err != nil {
			return nil, err
		}
		im.Times = append(im.Times, from.Add(h.Now().Sub(from)/2))
	}
	for _, s := range all {
		if len(s.block.Rounds) == h.Rounds {
			im.Blocks = append(im.Blocks, s.block)
		}
	}
	slices.SortFunc(im.Blocks, func(a, b image.Block) int {
		if a.Table != b.Table {
			return int(a.Table) - int(b.Table)
		}
		return a.At - b.At
	})
	return im, nil
}

// round reads every block once. One that isn't given any more is left out.
func (h *hunt) round(ctx context.Context, all []*stretch) error {
	for _, s := range all {
		if s.parts == nil {
			continue
		}
		words, ok, err := h.once(ctx, s)
		if err != nil {
			return err
		}
		if !ok {
			s.parts = nil
			continue
		}
		s.block.Table, s.block.At = s.Table, s.from
		s.block.Rounds = append(s.block.Rounds, words)
	}
	return nil
}

// once reads a block once. Where a request is refused, it takes those by which
// the block was found from then on.
func (h *hunt) once(ctx context.Context, s *stretch) ([]uint16, bool, error) {
	words := make([]uint16, s.to-s.from)
	for i := 0; i < len(s.parts); i++ {
		p := s.parts[i]
		got, is, err := h.patient(ctx, s.table, p.span)
		if err != nil {
			return nil, false, err
		}
		if is == given {
			copy(words[p.from-s.from:], got)
			continue
		}
		found := s.found(p.span)
		if p.proven || found == nil {
			return nil, false, nil
		}
		s.parts = slices.Replace(s.parts, i, i+1, found...)
		i--
	}
	return words, true, nil
}

// patient asks again where nothing came.
func (h *hunt) patient(ctx context.Context, t *table, p span) ([]uint16, answer, error) {
	for try := 1; ; try++ {
		words, is, err := h.ask(ctx, t, p.from, p.to-p.from)
		if err != nil || is != silent || try == touches {
			return words, is, err
		}
	}
}

// found are requests that were answered once and together cover a part; nil
// where there are none.
func (s *stretch) found(p span) []part {
	var all []part
	for at := p.from; at < p.to; {
		best := span{at, at}
		for _, r := range s.runs {
			if r.from >= s.from && r.from <= at && r.to > best.to && r.to <= s.to {
				best = r
			}
		}
		if best.to == at {
			return nil
		}
		all = append(all, part{best, true})
		at = best.to
	}
	return all
}
