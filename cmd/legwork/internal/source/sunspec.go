package source

import (
	"cmp"
	"context"
	"errors"
	"fmt"

	"legwork/probe"
	"legwork/probe/link"
	"legwork/probe/regmap"
)

// SunSpecMap stands for a register map where the meter describes itself.
const SunSpecMap = "sunspec"

// openSunSpec asks the meter what it is, and reads it so.
func openSunSpec(ctx context.Context, a Address, o Options) (Source, error) {
	l, err := Dial(ctx, a, o)
	if err != nil {
		return nil, err
	}
	m, err := findSunSpec(ctx, link.Telling(l, o.Asking), a, cmp.Or(o.Unit, a.Unit, 1))
	if err != nil {
		_ = l.Close()
		return nil, err
	}
	return newMeter(l, a, m, o), nil
}

// findSunSpec asks a meter for its own map; the error names the METER, and is an Unread.
func findSunSpec(ctx context.Context, l link.Conn, a Address, unit int) (*regmap.Map, error) {
	m, err := probe.FindSunSpec(ctx, l, byte(unit))
	if err == nil {
		return m, nil
	}
	if !errors.As(err, new(*link.Error)) {
		err = fmt.Errorf("%s: %w", a.Text, err)
	}
	return nil, Unread{err}
}
