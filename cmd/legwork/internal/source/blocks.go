package source

import (
	"legwork/probe/link"
	"legwork/probe/regmap"
)

// Blocks are the requests for one reading of a meter; without a map, the first
// registers.
func Blocks(a Address, o Options) ([]link.Read, error) {
	unit := max(a.Unit, 1)
	if o.Map == "" || o.Map == SunSpecMap {
		if o.Unit != 0 {
			unit = o.Unit
		}
		return []link.Read{{Unit: byte(unit), Function: link.ReadHolding, Count: 24}}, nil
	}
	m, err := LoadMap(o.Map)
	if err != nil {
		return nil, err
	}
	switch {
	case o.Unit != 0:
		unit = o.Unit
	case a.Unit == 0 && m.Unit != 0:
		unit = m.Unit
	}
	var blocks []link.Read
	for _, q := range m.Plan(limits(a)) {
		blocks = append(blocks, reads(unit, q))
	}
	return blocks, nil
}

func reads(unit int, q regmap.Request) link.Read {
	return link.Read{Unit: byte(unit), Function: link.Function(q.Table.Function()), Address: q.Address, Count: q.Count}
}
