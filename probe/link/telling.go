package link

import "context"

// Telling is c, which says before each question for registers what it is: so
// that whoever waits for many of them can be told what is being tried.
func Telling(c Counted, before func(Read)) Counted {
	if before == nil {
		return c
	}
	return telling{c, before}
}

type telling struct {
	Counted
	before func(Read)
}

func (t telling) Registers(ctx context.Context, r Read) ([]uint16, error) {
	t.before(r)
	return t.Counted.Registers(ctx, r)
}
