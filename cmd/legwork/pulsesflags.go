package main

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"legwork/cmd/legwork/internal/flags"
	"legwork/diagnose/pulses"
	"legwork/probe/reading"
)

type pulsesFlags struct {
	sampleFlags
	keepFlags
	power         reading.Value // W
	within        float64
	count         int
	over          time.Duration
	from          string
	tap, sameTime bool
	options       pulses.Options

	given   pulses.Power // of --power
	counted pulses.Count
}

func (f *pulsesFlags) addOwn(c *cobra.Command) {
	g, o := c.Flags(), &f.options
	g.Var(flags.Text(&f.power, "", parseWatts), "power", "power `W` of another instrument, in place of a METER")
	g.Var(flags.Text(&f.within, "1 %", parseShare), "power-within", "what --power is right within, 95 times in 100")
	g.Var(flags.Text(&o.Constant, "", pulses.ParseConstant), "constant",
		"pulse `CONSTANT`, such as \"1000 imp/kWh\" or \"0.5 Wh/imp\"")
	g.IntVar(&f.count, "count", 0, "pulses that were counted")
	g.Var(flags.Text(&f.over, "", parseOver), "over", "`TIME` over which they were, such as 3m20s or 3:20")
	choice{&f.from, "from", "`watch`: the time began anywhere; pulse: at a pulse counted as none, and ended at the last",
		[]string{"watch", "pulse"}}.add(c)
	g.Var(flags.Text(&o.Tolerance, "2 %", parseShare), "tolerance", "error that counts as none")
	g.Var(flags.Float(&o.Multiplier, 1, isRatioUp), "multiplier",
		"of pulses that count the secondary side of CTs, such as 40 for 200/5")
	short := flags.Above(time.Minute, "a time above 0 and up to a minute")
	g.Var(flags.Duration(&o.Timing, pulses.DefaultTiming, short), "timing",
		"what the hand at the watch is right within, 95 times in 100")
	g.BoolVar(&f.sameTime, "same-time", false, "the readings were taken during the count, from its start to its end")
	g.BoolVar(&f.tap, "tap", false, "count in the terminal: strike a key at every pulse, q at the end")
}

func isRatioUp(x float64) error {
	return flags.Unless(!(x >= 1) || x > 1e6, "%g is not a ratio from 1 up", x)
}

// check holds the flags against each other.
func (f *pulsesFlags) check(c *cobra.Command, meter bool) error {
	watts, stated := f.power.Get()
	switch {
	case !c.Flags().Changed("constant"):
		return errors.New(`say with --constant what one pulse stands for, such as "1000 imp/kWh"; it stands on the meter`)
	case stated && meter:
		return errors.New("give a METER or --power, not both")
	case !stated && !meter:
		return errors.New("--power is empty; say it in W, such as 9.2 kW")
	case stated:
		f.given = pulses.Stated(watts, f.within)
	}
	switch {
	case f.tap && (f.count != 0 || f.over != 0):
		return errors.New("--tap counts by itself; leave out --count and --over")
	case f.tap:
		return nil
	case f.count == 0 || f.over == 0:
		return errors.New("say how many pulses and how long: --count 120 --over 3m20s; or count in the terminal with --tap")
	}
	f.counted = pulses.Count{N: f.count, Over: f.over, AtPulses: f.from == "pulse"}
	return f.counted.Check()
}

func parseWatts(text string) (reading.Value, error) {
	watts, err := reading.ParseQuantity(text, "W")
	return reading.Known(watts), err
}

// mostShare is the largest error that a tolerance may be; our choice.
const mostShare = 0.5

// parseShare reads a percentage above 0, as a ratio.
func parseShare(text string) (float64, error) {
	x, err := reading.ParseQuantity(text, "%")
	if err != nil {
		return 0, err
	}
	wrong := !(x > 0) || x/100 > mostShare
	return x / 100, flags.Unless(wrong, "%q is not above 0 and at most %g %%", text, 100*mostShare)
}

// parseOver reads a time as people write it: 3m20s, 200 s, 3:20.
func parseOver(text string) (time.Duration, error) {
	plain := strings.Join(strings.Fields(text), "")
	if minutes, seconds, ok := strings.Cut(plain, ":"); ok {
		m, err := strconv.ParseUint(minutes, 10, 16)
		s, err2 := strconv.ParseFloat(seconds, 64)
		if err == nil && err2 == nil && len(seconds) >= 2 && s >= 0 && s < 60 {
			return time.Duration(m)*time.Minute + time.Duration(s*float64(time.Second)), nil
		}
		return 0, flags.Refused{What: fmt.Sprintf("%q is not minutes and seconds, such as 3:20", text)}
	}
	d, err := time.ParseDuration(plain)
	if err != nil {
		return 0, flags.Refused{What: fmt.Sprintf("%q is not a time", text), Mend: "write 3m20s, 200s or 3:20"}
	}
	return d, nil
}
