package report

import (
	"fmt"
	"math"
	"time"

	"legwork/cmd/legwork/internal/screen"
	"legwork/diagnose/clamp"
	"legwork/diagnose/phasetest"
	"legwork/diagnose/pulses"
	"legwork/diagnose/wiring"
	"legwork/probe/reading"
)

func (it *item) phaseTest(r *phasetest.Result) {
	method := "live, with a voltmeter"
	if r.Method == "dead" {
		method = "by continuity, on conductors proved dead"
	}
	it.fact("Service", r.Service)
	it.fact("Method", method)
	it.fact("Tester", map[bool]string{true: "proved before and after",
		false: "not stated to be proved before and after"}[r.Proved])
	var poles, places, read [][]string
	for _, p := range r.Poles {
		poles = append(poles, []string{fmt.Sprint(p.Pole), orOpen(p.On), liveWords(p.Live)})
	}
	it.table("Which pole of the voltage taps is on which leg", poles, words("Pole", "Leg", "Tap"))
	for _, c := range r.CTs {
		places = append(places, []string{fmt.Sprint(c.Channel), c.Leg, orOpen(c.Colour), c.Arrow})
	}
	it.table("Where the CTs go, once each pole is on the leg of its number", places,
		words("Channel", "Leg", "Colour", "Arrow"))
	for _, one := range r.Readings {
		read = append(read, []string{one.Pair, readWords(one), useWords(one)})
	}
	it.table("What the tester showed", read, words("Pair"), numbers("Read"), words("Taken as"))
	if len(r.Moves)+len(r.CTs) > 0 {
		it.Cautions, it.Steps = shownAll(r.Cautions), shownAll(r.Moves)
	}
	it.notes(r.Notes)
	if len(r.CTs) > 0 {
		it.notes([]string{"a colour is a hint, never proof of a leg; local code rules"})
	}
}

func orOpen(s *string) string {
	if s == nil {
		return "open"
	}
	return *s
}

func liveWords(live *bool) string {
	switch {
	case live == nil:
		return "not read"
	case *live:
		return "live"
	}
	return "not live"
}

func readWords(r phasetest.ReadingRead) string {
	switch {
	case r.Volts != nil:
		return fmt.Sprintf("%g V", *r.Volts)
	case r.Closed != nil && *r.Closed:
		return "closed"
	case r.Closed != nil:
		return "open"
	}
	return ""
}

// useWords says what became of a reading.
func useWords(r phasetest.ReadingRead) string {
	word := map[phasetest.Use]string{phasetest.Fits: "fits", phasetest.InDoubt: "in doubt",
		phasetest.Unexplained: "no mapping explains it", phasetest.SetAside: "set aside"}[r.Use]
	if r.Why != "" {
		word += ": " + r.Why
	}
	return word
}

func (it *item) clamp(r *clamp.Result) {
	it.fact("Clamp ammeter", "accurate within "+r.Accuracy.String())
	if r.Set != nil {
		it.fact("Meter set to", r.Set.String())
	}
	it.fact("Samples", screen.Count(r.Samples, "reading of the meter", "readings of the meter"))
	var rows [][]string
	voltages := false
	for _, c := range r.Channels {
		unit := " A"
		if c.Quantity == reading.Voltage.String() {
			unit, voltages = " V", true
		}
		rows = append(rows, []string{fmt.Sprintf("%d, leg %d", c.Channel, c.Leg), screen.Figures(c.Instrument, true) + unit,
			screen.Amount(c.Meter, 1) + unit,
			screen.Plain(c.Ratio, 3), span(c.Low, c.High, 3), screen.ComparedState(c.State)})
	}
	if voltages {
		it.fact("Voltmeter", "accurate within "+r.VoltAccuracy.String())
	}
	it.table("Meter over instrument", rows, words("Channel"), numbers("Instrument", "Meter", "Ratio", "95 %"),
		words("State"))
	for _, e := range r.Explanations {
		if e.Cause != clamp.RatiosRight && len(r.Explanations) > 1 {
			it.notes([]string{"it may be that " + e.Words})
		}
	}
	if r.Verdict == wiring.Fault {
		it.Cautions = shownAll(r.Cautions)
	}
	it.notes(r.Notes)
}

func (it *item) pulses(r *pulses.Result) {
	over := time.Duration(r.Seconds * float64(time.Second)).Round(10 * time.Millisecond)
	it.fact("Counted", fmt.Sprintf("%s of %.4g Wh over %s", screen.Count(r.Count, "pulse", "pulses"), r.WhPerPulse, over))
	if r.Multiplier != 1 {
		it.fact("Multiplier", fmt.Sprintf("%g", r.Multiplier))
	}
	it.fact("Power", map[bool]string{true: fmt.Sprintf("mean of %d readings", r.Samples),
		false: "as given"}[r.Samples > 0])
	it.fact("Tolerance", fmt.Sprintf("%g %%", 100*r.Tolerance))
	row := []string{screen.Figures(r.PulseWatts/1000, true), screen.Figures(r.Watts/1000, true), percent(r.Error),
		percent(r.ErrorLow) + " to " + percent(r.ErrorHigh)}
	it.table("Power by the pulse light against the stated power", [][]string{row}, words("Light kW"),
		numbers("Power kW", "Error %", "95 %"))
	it.notes(r.Notes)
}

// percent writes a share in percent with its sign; nothing has none below zero.
func percent(share float64) string { return fmt.Sprintf("%+.2f", math.Round(1e4*share)/100+0) }
