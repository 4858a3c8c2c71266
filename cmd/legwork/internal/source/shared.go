package source

import (
	"context"
	"fmt"

	"legwork/probe"
	"legwork/probe/link"
	"legwork/probe/regmap"
)

// DialShared makes a link that several meters share: the silence of one says
// nothing against it.
func DialShared(ctx context.Context, a Address, o Options) (link.Counted, error) {
	o.shared = true
	return Dial(ctx, a, o)
}

// Shared is what a meter on a link of someone else's needs.
type Shared struct {
	Options
	Map   *regmap.Map // of Options.Map, read already; nil for one that describes itself
	Brief bool        // silence is not looked into
}

// On makes a meter on a link that is there already; Close leaves the link open.
func On(ctx context.Context, l link.Counted, a Address, s Shared) (*Meter, error) {
	m := s.Map
	if s.Options.Map == SunSpecMap {
		var err error
		if m, err = findSunSpec(ctx, l, a, max(a.Unit, 1)); err != nil {
			return nil, err
		}
	}
	if m == nil {
		return nil, fmt.Errorf("%s: its register map is not there", a.Text)
	}
	o := probe.MeterOptions{Unit: a.Unit, Service: s.Service, Limits: limits(a), Brief: s.Brief}
	return &Meter{Meter: probe.NewMeter(l, m, o), Map: m, Link: l, Kind: a.Kind, service: s.Service}, nil
}
