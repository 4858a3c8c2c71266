package probe

import (
	"context"
	"errors"
	"fmt"

	"legwork/probe/link"
	"legwork/probe/regmap"
)

// mostModels bounds the walk along a chain of SunSpec models; devices have a
// handful.
const mostModels = 64

// ErrNoSunSpec says that a device answers but carries no SunSpec marker.
var ErrNoSunSpec = errors.New("no SunSpec marker at registers 40000, 0 or 50000; " +
	"this meter needs a register map: --map FILE")

// FindSunSpec looks for the SunSpec marker, walks the models after it, and gives
// the register map that they make. Errors of the link are a *link.Error.
func FindSunSpec(ctx context.Context, c link.Conn, unit byte) (*regmap.Map, error) {
	for _, base := range regmap.SunSpecBases() {
		words, err := c.Registers(ctx, link.Read{Unit: unit, Function: link.ReadHolding, Address: base, Count: 2})
		if lacks(err) {
			continue
		}
		if err != nil {
			return nil, err
		}
		if uint32(words[0])<<16|uint32(words[1]) == regmap.SunSpecMarker {
			models, err := walkModels(ctx, c, unit, int(base)+2)
			if err != nil {
				return nil, err
			}
			return regmap.SunSpecMap(models)
		}
	}
	return nil, ErrNoSunSpec
}

// lacks reports a refusal that says that these registers aren't there, as
// against one of a gateway without its meter, or of a meter that is busy.
func lacks(err error) bool {
	var refused link.Exception
	return errors.As(err, &refused) && refused <= link.ServerDeviceFailure
}

// walkModels follows the chain to its end, or to where registers end.
func walkModels(ctx context.Context, c link.Conn, unit byte, at int) ([]regmap.SunSpecModel, error) {
	var models []regmap.SunSpecModel
	for at < 0xFFFE {
		words, err := c.Registers(ctx, link.Read{Unit: unit, Function: link.ReadHolding, Address: uint16(at), Count: 2})
		if lacks(err) && len(models) > 0 {
			return models, nil // a chain without its end is common enough
		}
		if err != nil {
			return nil, err
		}
		if words[0] == regmap.SunSpecEnd {
			return models, nil
		}
		models = append(models, regmap.SunSpecModel{ID: int(words[0]), Address: at, Length: int(words[1])})
		if len(models) > mostModels {
			return nil, fmt.Errorf("the SunSpec models go on beyond %d; this chain can't be right", mostModels)
		}
		at += 2 + int(words[1])
	}
	return models, nil
}
