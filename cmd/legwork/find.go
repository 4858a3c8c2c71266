package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"os"
	"strconv"
	"strings"
	"time"

	"github.com/spf13/cobra"
	"golang.org/x/term"

	"legwork/cmd/legwork/internal/source"
	"legwork/probe/link"
	"legwork/probe/seek"
)

type findFlags struct {
	units   string
	timeout time.Duration
	all     bool
}

func (a *app) find() *cobra.Command {
	var f findFlags
	c := &cobra.Command{
		Use:     "find [PORT|HOST]",
		GroupID: "wires",
		Short:   "Find a meter's speed, parity and unit, and print the METER that reads it",
		Long: "Asks for one register at the likeliest settings first, and prints the METER address of\n" +
			"the meter that answers. On a line that is in use by another master, leave it be: two\n" +
			"masters disturb each other. Exit status: 0 found, 2 the command was wrong, 4 not found.",
		Example: "legwork find /dev/ttyUSB0 --units 1-247",
		Args: func(c *cobra.Command, args []string) error {
			if len(args) == 0 {
				return nil
			}
			return oneArgument("PORT or HOST")(c, args)
		},
		RunE: func(c *cobra.Command, args []string) error {
			return a.runFind(c, args, f)
		},
	}
	c.Flags().StringVar(&f.units, "units", "1-10", "unit identifiers to ask, such as `1-247` or 1,5,17")
	c.Flags().DurationVar(&f.timeout, "timeout", 0, "how long to wait for one answer; 200ms on a serial line, 1s on a network")
	c.Flags().BoolVar(&f.all, "all", false, "go on to all units after the first meter")
	return c
}

func (a *app) runFind(c *cobra.Command, args []string, f findFlags) error {
	units, err := parseUnits(f.units)
	if err != nil {
		return err
	}
	if f.timeout < 0 {
		return fmt.Errorf("--timeout %s is below zero", f.timeout)
	}
	where, err := a.whereToFind(args)
	if err != nil {
		return err
	}
	o := seek.Options{Ways: waysOf(where), Units: units, Timeout: f.timeout, All: f.all}
	if !isPort(where) && f.timeout == 0 {
		o.Timeout = time.Second
	}
	progress := a.progress()
	o.Step = progress.step
	fmt.Fprintf(a.stderr, "%s: %d ways x %d units, the likeliest first, at most %s; interrupt to stop\n",
		where, len(o.Ways), len(units), roundly(o.Longest()))
	result, err := seek.Run(c.Context(), o)
	progress.end()
	if text := foundText(result); text != "" {
		_, werr := io.WriteString(a.stdout, text)
		return werr
	}
	notFound(a.stderr, where, result)
	if errors.Is(err, context.Canceled) {
		return source.Unread{Err: fmt.Errorf("stopped after %d questions; nothing was found until then", result.Asked)}
	}
	return status(exitUnread)
}

// whereToFind takes the argument, or the only likely port.
func (a *app) whereToFind(args []string) (string, error) {
	if len(args) == 1 {
		where := bare(args[0])
		if where == "" || strings.Contains(where, "://") || strings.HasPrefix(where, "sim:") {
			return "", fmt.Errorf("%q is no place to look: name a port (`legwork ports` lists them) or a HOST, with its port where that isn't 502", args[0])
		}
		return where, nil
	}
	ports, err := link.Ports()
	if err != nil {
		return "", fmt.Errorf("serial ports: %w", err)
	}
	var likely []string
	for _, p := range ports {
		if p.USB {
			likely = append(likely, p.Name)
		}
	}
	switch len(likely) {
	case 1:
		return likely[0], nil
	case 0:
		return "", errors.New("there is no USB adapter; name a port (`legwork ports` lists them) or a HOST")
	}
	return "", fmt.Errorf("there are %d USB adapters; say which: %s", len(likely), strings.Join(likely, ", "))
}

// bare takes what stands round a port or a host in a METER away: find asks for
// no more than that.
func bare(where string) string {
	for _, scheme := range []string{"rtu+tcp://", "rtu://", "tcp://"} {
		if rest, is := strings.CutPrefix(where, scheme); is {
			rest, _, _ = strings.Cut(rest, "?")
			if scheme != "rtu://" {
				rest, _, _ = strings.Cut(rest, "/")
			}
			return rest
		}
	}
	return where
}

// isPort reports the name of a serial port, as against that of a host.
func isPort(where string) bool {
	if strings.HasPrefix(where, "/") {
		return true
	}
	number, is := strings.CutPrefix(strings.ToUpper(where), "COM")
	_, err := strconv.ParseUint(number, 10, 16)
	return is && err == nil
}

func waysOf(where string) []seek.Way {
	if isPort(where) {
		return seek.SerialWays(where)
	}
	_, _, err := net.SplitHostPort(where)
	return seek.NetworkWays(where, err == nil)
}

// parseUnits reads "1-10" and "1,5,17".
func parseUnits(text string) ([]byte, error) {
	var units []byte
	seen := map[int]bool{}
	for part := range strings.SplitSeq(text, ",") {
		low, high, isRange := strings.Cut(strings.TrimSpace(part), "-")
		from, err := source.ParseUnit(low)
		to := from
		if err == nil && isRange {
			to, err = source.ParseUnit(high)
		}
		if err != nil || to < from {
			return nil, fmt.Errorf("--units %q: write units from 1 to 247, such as 1-10 or 1,5,17", text)
		}
		for u := from; u <= to; u++ {
			if !seen[u] {
				seen[u] = true
				units = append(units, byte(u))
			}
		}
	}
	return units, nil
}

func roundly(d time.Duration) string {
	if d < time.Minute {
		return d.Round(time.Second).String()
	}
	text := d.Round(10 * time.Second).String()
	if strings.HasSuffix(text, "m0s") {
		return strings.TrimSuffix(text, "0s")
	}
	return text
}

// progress shows how far the search is: on a terminal in place, else not at all.
type progress struct {
	w    io.Writer
	live bool
}

func (a *app) progress() progress {
	f, ok := a.stderr.(*os.File)
	return progress{a.stderr, ok && term.IsTerminal(int(f.Fd()))}
}

func (p progress) step(s seek.Step) {
	if p.live {
		fmt.Fprintf(p.w, "\r\x1b[K  %d of %d  %s, unit %d  (%s left at most)", s.Done, s.Total, s.Way, s.Unit, roundly(s.Left))
	}
}

func (p progress) end() {
	if p.live {
		fmt.Fprint(p.w, "\r\x1b[K")
	}
}

func foundText(r seek.Result) string {
	var b strings.Builder
	for _, f := range r.Found {
		fmt.Fprintf(&b, "%s\n", f.Way.Meter(f.Unit))
		fmt.Fprintf(&b, "  unit %d, %s: %d of %d further questions answered", f.Unit, f.Way.Name, f.Good, f.Of)
		if f.Refuses {
			b.WriteString(", by a refusal of the register asked for, which shows the meter as well")
		}
		fmt.Fprintf(&b, "; slowest answer %s\n", f.Slowest.Round(time.Millisecond))
		if f.Known {
			fmt.Fprintf(&b, "  it says of itself: %s\n", strings.Join(identity(f.Identity), ", "))
		}
		if strings.HasPrefix(f.Way.Meter(f.Unit), "rtu:") {
			b.WriteString("  one stop bit or two can't be told apart from here; either works\n")
		}
	}
	if b.Len() > 0 {
		b.WriteString("Next: legwork read '" + r.Found[0].Way.Meter(r.Found[0].Unit) + "' --map FILE, or --map sunspec\n")
	}
	return b.String()
}

func identity(id link.Identity) []string {
	var parts []string
	for _, s := range []string{id.Vendor, id.Product, id.Revision} {
		if s != "" {
			parts = append(parts, strconv.Quote(s))
		}
	}
	return parts
}

// notFound says what was heard instead, and what to check.
func notFound(w io.Writer, where string, r seek.Result) {
	if r.Error != nil {
		fmt.Fprintln(w, r.Error)
		return
	}
	fmt.Fprintf(w, "%s: no meter answered %d questions.\n", where, r.Asked)
	switch {
	case len(r.Heard) == 0:
		fmt.Fprintln(w, "  Not one byte came. Check in this order: the meter's power; A and B exchanged; the common\n"+
			"  conductor; that these terminals are the meter's Modbus port; a unit not asked (--units 1-247).")
	default:
		for _, h := range r.Heard {
			fmt.Fprintf(w, "  %s: %s\n", h.Way, heard(h))
		}
		fmt.Fprintln(w, "  Something is alive on the line. "+hint(r.Heard))
	}
}

func heard(h seek.Heard) string {
	c := h.Counts
	var other link.OtherUnit
	switch {
	case errors.As(h.Err, &other):
		return fmt.Sprintf("unit %d answered though another was asked", other.Got)
	case c.Echoes > 0 && c.NoiseBytes == 0:
		return "only the adapter's own echo"
	case c.LateAnswers > 0:
		return "answers that came too late"
	}
	return fmt.Sprintf("%d bytes that are no answer", c.BytesReceived)
}

func hint(all []seek.Heard) string {
	var echo, late, garbled int
	for _, h := range all {
		var other link.OtherUnit
		switch c := h.Counts; {
		case errors.As(h.Err, &other):
			return fmt.Sprintf("At the setting where another unit answered, speed and parity are\n"+
				"  right: ask for that unit (--units %d), and see that no other master is on the line.", other.Got)
		case c.LateAnswers > 0:
			late++
		case c.Echoes > 0 && c.NoiseBytes == 0:
			echo++
		default:
			garbled++
		}
	}
	switch {
	case late > 0:
		return "The meter is slow: try --timeout 1s."
	case garbled == 0 && echo > 0:
		return "The adapter hears itself but no meter: check the\n  meter's power, A and B, and the unit (--units 1-247)."
	}
	return "Garbled at every setting: A and B exchanged, two meters with\n  the same unit, another master talking, or no bias and termination on the line."
}
