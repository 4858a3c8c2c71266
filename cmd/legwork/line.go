package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"time"

	"github.com/spf13/cobra"

	"legwork/cmd/legwork/internal/screen"
	"legwork/cmd/legwork/internal/source"
	"legwork/probe/health"
	"legwork/probe/link"
)

func (a *app) line() *cobra.Command {
	var f meterFlags
	var format string
	c := &cobra.Command{
		Use:     "line METER",
		GroupID: "wires",
		Short:   "Say what is wrong with the wire to a meter",
		Long: "Asks a meter close together and apart, for short blocks and long, and says what is wrong\n" +
			"with the way to it and what to check at the terminals. Without --map it asks for the first\n" +
			"registers. Exit status: 0 in order, 1 something is wrong, 2 the command was wrong, 4 the\n" +
			"meter could not be read at all.",
		Example: "legwork line 'rtu:///dev/ttyUSB0?baud=9600&unit=1'",
		Args:    oneArgument("a METER"),
		RunE:    func(c *cobra.Command, args []string) error { return a.runLine(c, args[0], f, format) },
	}
	f.add(c)
	addFormat(c, &format)
	return c
}

func (a *app) runLine(c *cobra.Command, meter string, f meterFlags, format string) error {
	address, err := a.address(c, meter, &f)
	if err != nil {
		return err
	}
	o, closeAll, err := examined(c.Context(), address, f)
	if err != nil {
		return err
	}
	defer closeAll()
	progress := a.progress()
	o.Step = progress.examines
	evidence, err := health.Examine(c.Context(), o)
	progress.end()
	switch {
	case errors.Is(err, context.Canceled):
		c := evidence.Counts
		return source.Unread{Err: fmt.Errorf("stopped after %d questions, %d of which were answered", c.Requests, c.Answers)}
	case err != nil:
		return source.Unread{Err: err}
	}
	findings := health.Findings(evidence)
	if format == "json" {
		err = lineJSON(a.stdout, findings, evidence)
	} else {
		err = screen.Line(a.stdout, meter, findings, evidence)
	}
	switch {
	case err != nil:
		return err
	case evidence.Counts.Answers == 0 && evidence.Counts.Exceptions == 0:
		return status(exitUnread)
	case len(findings) > 0:
		return status(exitFault)
	}
	return nil
}

// examined opens what is to be examined.
func examined(ctx context.Context, address source.Address, f meterFlags) (health.Options, func(), error) {
	f.Retries = 0
	if address.Kind == source.TCP || address.Kind == source.TLS {
		f.Retries = 1 // a late answer shows while the next try waits
	}
	if address.Kind == source.Sim || address.Kind == source.Capture {
		return health.Options{}, nil, fmt.Errorf("%s has no wire; name a meter, such as "+
			"rtu:///dev/ttyUSB0?baud=9600 or tcp://HOST/UNIT", address.Text)
	}
	blocks, err := source.Blocks(address, f.Options)
	if err != nil {
		return health.Options{}, nil, err
	}
	l, err := source.Dial(ctx, address, f.Options)
	if err != nil {
		return health.Options{}, nil, err
	}
	o := health.Options{Conn: l, Blocks: blocks, Timeout: f.Timeout, Wait: pause,
		Network: address.Kind == source.TCP || address.Kind == source.TLS}
	switch address.Kind {
	case source.RTU:
		o.Timer, o.Wire = link.LatencyTimer(address.Port.Port), address.Port.WireTime
	case source.TCP:
		o.Again = func(ctx context.Context) (link.Conn, error) { return source.Dial(ctx, address, f.Options) }
	}
	return o, func() { _ = l.Close() }, nil
}

func lineJSON(w io.Writer, findings []health.Finding, e health.Evidence) error {
	if findings == nil {
		findings = []health.Finding{}
	}
	c := e.Counts
	return json.NewEncoder(w).Encode(map[string]any{"legwork": 1, "findings": findings, "counts": map[string]any{
		"requests": c.Requests, "answers": c.Answers, "silent": c.Silent(), "late": c.LateAnswers, "refused": c.Exceptions,
		"spoilt": c.Spoilt(), "slowest_ms": float64(c.Slowest.Microseconds()) / 1000}})
}

// tellWire says what a wire that was only read through showed: a line for each
// finding that its counts alone allow, once something was answered. Without an
// answer the error says it. An echo is no trouble, and a connection that broke was told
// when it did.
func (a *app) tellWire(m *source.Meter, timeout time.Duration) {
	e := health.Evidence{Counts: m.Link.Counts(), Timeout: timeout,
		Network: m.Kind == source.TCP || m.Kind == source.TLS}
	if e.Counts.Answers == 0 {
		return
	}
	for _, f := range health.Findings(e) {
		if f.Trouble != health.Echo && f.Trouble != health.Broken {
			fmt.Fprintf(a.stderr, "wire: %s: %s; check %s\n", f.Trouble, f.Seen, f.Check)
		}
	}
}
