package screen

import (
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"
	"time"

	"legwork/probe/link"
	"legwork/probe/seek"
)

// FoundMeter is a meter that was found.
type FoundMeter struct {
	seek.Found
	SunSpec bool // it describes itself by that standard
}

// Found tells the meters that were found, each with the METER that reads it;
// empty where there is none.
func Found(all []FoundMeter) string {
	var b strings.Builder
	for _, f := range all {
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
		if f.SunSpec {
			b.WriteString("  it follows SunSpec: --map sunspec reads it\n")
		} else {
			b.WriteString("  it does not follow SunSpec: it needs a register map\n")
		}
	}
	if len(all) > 0 {
		b.WriteString(nextTo(all[0]))
	}
	return b.String()
}

// nextTo is what to do with a meter that was found.
func nextTo(f FoundMeter) string {
	meter := f.Way.Meter(f.Unit)
	if f.SunSpec {
		return "Next: legwork diagnose '" + meter + "' --map sunspec\n"
	}
	return "Next: legwork start '" + meter + "'\n"
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

// NotFound says what was heard instead, and what to check.
func NotFound(w io.Writer, where string, r seek.Result) {
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
	case c.BytesReceived == 0:
		return "the connection broke instead of an answer"
	}
	return fmt.Sprintf("%d bytes that are no answer", c.BytesReceived)
}

func hint(all []seek.Heard) string {
	var echo, late, garbled, broke int
	for _, h := range all {
		var other link.OtherUnit
		switch c := h.Counts; {
		case errors.As(h.Err, &other):
			return fmt.Sprintf("At the setting where another unit answered, speed and parity are\n"+
				"  right: ask for that unit (--units %d), and see that no other master is on the line.", other.Got)
		case c.LateAnswers > 0:
			late++
		case c.BytesReceived == 0:
			broke++
		case c.Echoes > 0 && c.NoiseBytes == 0:
			echo++
		default:
			garbled++
		}
	}
	switch {
	case late > 0:
		return "The meter is slow: try --timeout 1s."
	case broke == len(all):
		return "It takes connections and ends them: is this the meter's\n  port, and is no other client connected?"
	case garbled == 0 && echo > 0:
		return "The adapter hears itself but no meter: check the\n  meter's power, A and B, and the unit (--units 1-247)."
	}
	return "Garbled at every setting: A and B exchanged, two meters with\n  the same unit, another master talking, or " +
		"no bias and termination on the line."
}
