package link

import (
	"context"
	"time"

	"github.com/goburrow/modbus"
)

// hearing is what is heard after one request.
type hearing struct {
	want     awaited
	adu      []byte
	deadline time.Time
	n        int // bytes in RTU.in
	dropped  int // bytes that found no room
	at, size int // of the answer
	answer   *modbus.ProtocolDataUnit
	pack     modbus.Packager
}

// opens has the packager take the answer out of a frame, and reports whether
// its check is right.
func (h *hearing) opens(frame []byte) bool {
	answer, err := h.pack.Decode(frame)
	if err != nil || h.pack.Verify(h.adu, frame) != nil {
		return false
	}
	h.answer = answer
	return true
}

// hear collects what comes until the answer stands there; some of it may have
// come already.
func (r *RTU) hear(ctx context.Context, w wire, h *hearing) error {
	for {
		if h.at, h.size = h.want.find(r.in[:h.n], h.opens); h.size > 0 {
			return nil
		}
		if h.n == len(r.in) { // nothing but noise so far: its end may begin the answer
			h.dropped += h.n - maxRTU
			h.n = copy(r.in[:], r.in[h.n-maxRTU:])
		}
		got, err := w.receive(ctx, r.in[h.n:], h.deadline)
		if got == 0 && err != nil {
			return err
		}
		r.took(h.n, got)
		h.n += got
	}
}

// most is the longest that the answer can be.
func (w awaited) most() int {
	if w.data == 0 {
		return maxRTU
	}
	return rtuOverhead + 2 + w.data
}

// unheard says what it means that the answer did not come.
func (r *RTU) unheard(h *hearing) error {
	got := r.in[:h.n]
	silent := NoAnswer{After: r.options.Timeout, Late: r.lateAfter}
	s := sortOut(got, h.adu, h.want)
	switch {
	case h.n == 0:
		return silent
	case s.spoilt > 0:
		return badAnswer(got, "the check (CRC) of the answer is wrong")
	case s.foreign > 0:
		return OtherUnit{Asked: h.want.unit, Got: s.unit}
	case s.other > 0:
		return badAnswer(got, "the answer is to another function")
	case s.late > 0:
		silent.Stray = s.late
		return silent
	case s.noise == 0:
		silent.Echo = true
		return silent
	case h.dropped == 0 && h.want.beginsIn(got):
		silent.Partial = h.n
		return silent
	}
	return badAnswer(got, "%d bytes came that are no answer", h.n+h.dropped)
}

// beginsIn reports an answer that begins somewhere in got and isn't whole.
func (w awaited) beginsIn(got []byte) bool {
	for at := range got {
		if size := w.size(got[at:]); len(got)-at >= 3 && size >= 0 {
			return true
		}
	}
	return false
}
