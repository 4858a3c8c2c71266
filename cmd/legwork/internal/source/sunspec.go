package source

import (
	"context"
	"errors"
	"fmt"

	"legwork/probe"
	"legwork/probe/link"
)

// SunSpecMap stands for a register map where the meter describes itself.
const SunSpecMap = "sunspec"

// openSunSpec asks the meter what it is, and reads it so.
func openSunSpec(ctx context.Context, a Address, o Options) (Source, error) {
	l, err := Dial(ctx, a, o)
	if err != nil {
		return nil, err
	}
	unit := max(o.Unit, 1)
	if o.Unit == 0 && a.Unit != 0 {
		unit = a.Unit
	}
	m, err := probe.FindSunSpec(ctx, link.Telling(l, o.Asking), byte(unit))
	if err != nil {
		_ = l.Close()
		var failed *link.Error
		if !errors.As(err, &failed) {
			err = fmt.Errorf("%s: %w", a.Text, err)
		}
		return nil, Unread{err}
	}
	return newMeter(l, a, m, o), nil
}
