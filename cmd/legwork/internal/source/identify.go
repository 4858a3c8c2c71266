package source

import (
	"context"

	"legwork/probe/link"
)

// Identify asks the meter who it is (function 43/14); many don't tell, and then
// the error is around link.ErrNoIdentity.
func (m *Meter) Identify(ctx context.Context) (link.Identity, error) {
	return m.Link.Identify(ctx, m.Unit())
}
