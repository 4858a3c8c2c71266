package source

import (
	"cmp"

	"legwork/probe/link"
	"legwork/probe/regmap"
)

// Blocks are the requests for one reading of a meter; without a map, the first
// registers.
func Blocks(a Address, o Options) ([]link.Read, error) {
	if o.Map == "" || o.Map == SunSpecMap {
		unit := cmp.Or(o.Unit, a.Unit, 1)
		return []link.Read{{Unit: byte(unit), Function: link.ReadHolding, Count: 24}}, nil
	}
	m, err := LoadMap(o.Map)
	if err != nil {
		return nil, err
	}
	var blocks []link.Read
	for _, q := range m.Plan(limits(a)) {
		blocks = append(blocks, reads(cmp.Or(o.Unit, a.Unit, m.Unit, 1), q))
	}
	return blocks, nil
}

func reads(unit int, q regmap.Request) link.Read {
	return link.Read{Unit: byte(unit), Function: link.Function(q.Table.Function()), Address: q.Address, Count: q.Count}
}
