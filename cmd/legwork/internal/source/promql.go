package source

import (
	"context"
	"fmt"
	"io"
	"net/http"
	"time"

	"legwork/cmd/legwork/internal/promql"
	"legwork/probe/reading"
)

// parsePromQL takes promql+http://HOST:PORT/NAME?from=-24h&to=now apart.
func (a Address) parsePromQL() (Address, error) {
	a.Kind = PromQL
	_, err := promql.ParseAddress(a.Text)
	return a, err
}

// historyWithin bounds the wait for a server with history; our choice.
const historyWithin = 2 * time.Minute

// history is a source that replays what a server keeps.
type history struct {
	all []reading.Reading
	past
}

// openPromQL reads a meter's readings back.
func openPromQL(ctx context.Context, a Address, o Options) (Source, error) {
	if o.Map != "" {
		return nil, fmt.Errorf("--map is for meters; %s gives readings already", a.Text)
	}
	from, err := promql.ParseAddress(a.Text)
	if err != nil {
		return nil, err
	}
	all, err := from.Readings(ctx, &http.Client{Timeout: historyWithin})
	if err != nil {
		return nil, Unread{err}
	}
	return &history{all, past{o.Service}}, nil
}

// Next gives the next reading.
func (h *history) Next(ctx context.Context) (reading.Reading, error) {
	if ctx.Err() != nil {
		return reading.Reading{}, ctx.Err()
	}
	if len(h.all) == 0 {
		return reading.Reading{}, io.EOF
	}
	r := h.all[0]
	h.all = h.all[1:]
	return r, nil
}

// Close does nothing.
func (h *history) Close() error { return nil }
