package source

import (
	"context"
	"errors"

	"legwork/probe/link"
	"legwork/probe/mend"
	"legwork/probe/regmap"
)

// IsRefused reports an error of a meter that answered that it won't give a register.
func IsRefused(err error) bool {
	return errors.As(err, new(link.Exception))
}

// instants is how often a meter is read before its map is judged. Our choice.
const instants = 3

// Registers reads what the meter's map and its mends may need, at some instants
// between which it waits; none where the meter refuses all of it.
func (m *Meter) Registers(ctx context.Context, wait func(context.Context) error) ([]mend.Registers, error) {
	var read []mend.Registers
	for n := range instants {
		if n > 0 {
			if err := wait(ctx); err != nil {
				return nil, err
			}
		}
		r := mend.Registers{}
		for _, q := range m.Plan() {
			for _, t := range []regmap.Table{regmap.Holding, regmap.Input} {
				q.Table = t
				if err := m.around(ctx, q, r); err != nil {
					return nil, Unread{Err: err}
				}
			}
		}
		if len(r) == 0 {
			return nil, nil
		}
		read = append(read, r)
	}
	return read, nil
}

// around reads a block with one more register on either side, or as much of that
// as the meter allows.
func (m *Meter) around(ctx context.Context, q regmap.Request, into mend.Registers) error {
	from, to := int(q.Address), int(q.Address)+int(q.Count)
	for _, try := range [][2]int{{from - 1, to + 1}, {from, to + 1}, {from - 1, to}, {from, to},
		{from + 1, to + 1}, {from - 1, to - 1}} {
		count := try[1] - try[0]
		if try[0] < 0 || try[1] > 1<<16 || count > link.MaxRegisters || count < 1 {
			continue
		}
		q.Address, q.Count = uint16(try[0]), uint16(count)
		words, err := m.Link.Registers(ctx, reads(int(m.Unit()), q))
		if err == nil {
			into.Add(regmap.Block{Request: q, Words: words})
			return nil
		}
		if !IsRefused(err) {
			return err
		}
	}
	return nil
}
