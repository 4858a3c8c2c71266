package blocks

import (
	"context"
	"math/rand/v2"
	"time"

	"legwork/probe/link"
	"legwork/probe/regmap"
)

// fake is a meter of which everything can be said. Its clock goes on by what its
// requests take.
type fake struct {
	blocks  map[link.Function][]span
	blank   map[link.Function]bool // every other register reads as zero
	most    int                    // registers in one request; 0 is 125
	long    link.Exception         // the answer to more; 0 is silence
	hole    link.Exception         // the answer to a register that isn't there; 0 is silence
	no      map[link.Function]link.Exception
	deaf    map[link.Function]bool // a table that nothing answers for
	pairs   bool                   // values of two registers are given whole or not at all
	odd     bool                   // and begin at odd addresses
	mirror  bool                   // both tables are one
	ends    int                    // the meter goes away after so many requests
	lost    float64                // share of answers that are lost
	fails   float64                // share of requests that are refused with what failing says
	failing link.Exception
	takes   time.Duration
	patient time.Duration // how long an answer is waited for

	asked    int
	longest  int
	frozen   bool
	now      time.Time
	rng      *rand.Rand
	requests []link.Read
}

func newFake(blocks ...span) *fake {
	return &fake{blocks: map[link.Function][]span{link.ReadHolding: blocks},
		hole: link.IllegalDataAddress,
		long: link.IllegalDataValue, takes: 5 * time.Millisecond, patient: time.Second, now: time.Date(2026, 5, 4, 9, 0, 0, 0, time.UTC),
		rng: rand.New(rand.NewPCG(1, 2))}
}

func (f *fake) options() Options {
	return Options{Now: func() time.Time { return f.now }, Wait: func(ctx context.Context, d time.Duration) error {
		f.now = f.now.Add(d)
		return ctx.Err()
	}}
}

// of are the options for another meter.
func (o Options) of(f *fake) Options {
	other := f.options()
	other.From, other.To = o.From, o.To
	return other
}

func (f *fake) refuse(code link.Exception) ([]uint16, error) {
	if code == 0 {
		f.now = f.now.Add(f.patient)
		return nil, &link.Error{Op: "read", Err: link.NoAnswer{After: f.patient}}
	}
	return nil, &link.Error{Op: "read", Err: code}
}

// Registers answers as the meter does.
func (f *fake) Registers(ctx context.Context, r link.Read) ([]uint16, error) {
	f.asked++
	f.requests = append(f.requests, r)
	f.now = f.now.Add(f.takes)
	if ctx.Err() != nil {
		return nil, ctx.Err()
	}
	if f.mirror {
		r.Function = link.ReadHolding
	}
	code, none := f.no[r.Function]
	most := f.most
	if most == 0 {
		most = link.MaxRegisters
	}
	switch {
	case f.ends > 0 && f.asked > f.ends, f.deaf[r.Function], f.rng.Float64() < f.lost:
		return f.refuse(0)
	case none:
		return f.refuse(code)
	case f.rng.Float64() < f.fails:
		return f.refuse(f.failing)
	case int(r.Count) > most:
		return f.refuse(f.long)
	case f.pairs && (r.Address%2 != 0 != f.odd || r.Count%2 != 0):
		return f.refuse(f.hole)
	}
	words := make([]uint16, r.Count)
	for i := range words {
		at := int(r.Address) + i
		switch in := f.in(r.Function, at); {
		case !in && !f.blank[r.Function]:
			return f.refuse(f.hole)
		case in:
			words[i] = uint16(at*7+1) | 1
			if at%10 == 3 && !f.frozen {
				words[i] += uint16(f.now.Unix() % 50)
			}
		}
	}
	f.longest = max(f.longest, len(words))
	return words, nil
}

func (f *fake) in(t link.Function, at int) bool {
	for _, s := range f.blocks[t] {
		if at >= s.from && at < s.to {
			return true
		}
	}
	return false
}

var (
	holding = []regmap.Table{regmap.Holding}
	input   = []regmap.Table{regmap.Input}
)
