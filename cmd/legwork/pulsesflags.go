package main

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
	"time"

	"legwork/diagnose/pulses"
	"legwork/probe/reading"
)

type pulsesFlags struct {
	sampleFlags
	keepFlags
	power, within string
	constant      string
	count         int
	over, from    string
	tolerance     string
	multiplier    float64
	timing        time.Duration
	tap, sameTime bool
	given         pulses.Power // of --power
	options       pulses.Options
	counted       pulses.Count
}

// read turns what was typed into values.
func (f *pulsesFlags) read(meter bool) (err error) {
	if err := f.check(); err != nil {
		return err
	}
	if f.constant == "" {
		return errors.New(`say with --constant what one pulse stands for, such as "1000 imp/kWh"; it stands on the meter`)
	}
	if f.options.Constant, err = pulses.ParseConstant(f.constant); err != nil {
		return fmt.Errorf("--constant %w", err)
	}
	if f.options.Tolerance, err = parseShare(f.tolerance, 0.5); err != nil {
		return fmt.Errorf("--tolerance %w", err)
	}
	if !(f.multiplier >= 1) || f.multiplier > 1e6 {
		return fmt.Errorf("--multiplier %g is not a ratio from 1 up", f.multiplier)
	}
	if f.timing <= 0 || f.timing > time.Minute {
		return fmt.Errorf("--timing %s is not a time above 0 and up to a minute", f.timing)
	}
	f.options.Multiplier, f.options.Timing = f.multiplier, f.timing
	if err := f.readPower(meter); err != nil {
		return err
	}
	return f.readCount()
}

// readPower reads --power, which stands in place of a METER.
func (f *pulsesFlags) readPower(meter bool) error {
	if f.power == "" {
		if !meter {
			return errors.New("--power is empty; say it in W, such as 9.2 kW")
		}
		return nil
	}
	if meter {
		return errors.New("give a METER or --power, not both")
	}
	watts, err := reading.ParseQuantity(f.power, "W")
	if err != nil {
		return fmt.Errorf("--power %w", err)
	}
	within, err := parseShare(f.within, 0.5)
	if err != nil {
		return fmt.Errorf("--power-within %w", err)
	}
	f.given = pulses.Stated(watts, within)
	return nil
}

// readCount reads --count and --over, which --tap takes the place of.
func (f *pulsesFlags) readCount() (err error) {
	if f.from != "watch" && f.from != "pulse" {
		return fmt.Errorf("--from %q is not watch or pulse", f.from)
	}
	if f.tap {
		if f.count != 0 || f.over != "" {
			return errors.New("--tap counts by itself; leave out --count and --over")
		}
		return nil
	}
	if f.count == 0 || f.over == "" {
		return errors.New("say how many pulses and how long: --count 120 --over 3m20s; or count in the terminal with --tap")
	}
	f.counted = pulses.Count{N: f.count, AtPulses: f.from == "pulse"}
	if f.counted.Over, err = parseOver(f.over); err != nil {
		return fmt.Errorf("--over %w", err)
	}
	return f.counted.Check()
}

// parseShare reads a percentage above 0 and up to most, a ratio.
func parseShare(text string, most float64) (float64, error) {
	x, err := reading.ParseQuantity(text, "%")
	if err != nil {
		return 0, err
	}
	if !(x > 0) || x/100 > most {
		return 0, fmt.Errorf("%q is not above 0 and at most %g %%", text, 100*most)
	}
	return x / 100, nil
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
		return 0, fmt.Errorf("%q is not minutes and seconds, such as 3:20", text)
	}
	d, err := time.ParseDuration(plain)
	if err != nil {
		return 0, fmt.Errorf("%q is not a time; write 3m20s, 200s or 3:20", text)
	}
	return d, nil
}
