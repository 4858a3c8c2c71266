package screen

import (
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"legwork/probe/learn"
	"legwork/probe/learn/image"
	"legwork/probe/reading"
)

// Registers are a meter's registers as they were found, and at what price.
type Registers struct {
	Image *image.Image
	Asked int
	Took  time.Duration

	Failed int   // requests that the meter was too busy for, or failed at
	By     error // what it said
}

// Learned says what a meter's registers turned out to hold, by what ties, what is
// not settled and what would settle it.
func Learned(out io.Writer, found Registers, r *learn.Result, s Style) error {
	w := &writer{Style: s, out: out}
	w.line(w.whereFound(found))
	if r.Channels == 0 {
		w.line("No voltages, currents and powers were made out among them.")
		w.says(found.RefusedWords())
		w.says(UnfitWords(r)...)
		w.says(WhatSettles(r, "")...)
		return w.err
	}
	w.learnedChannels(r)
	w.learnedTies(r)
	w.says(UnfitWords(r)...)
	w.notSettled(r)
	return w.err
}

func (w *writer) whereFound(found Registers) string {
	n := 0
	var where []string
	for _, b := range found.Image.Blocks {
		n += len(b.Rounds[0])
		where = append(where, fmt.Sprintf("%s %d-%d", b.Table, b.At, b.At+len(b.Rounds[0])-1))
	}
	if len(where) > mostWhere {
		where = append(where[:mostWhere], fmt.Sprintf("%d more", len(where)-mostWhere))
	}
	return fmt.Sprintf("%s by %s in %s: %s", Count(n, "register", "registers"),
		Count(found.Asked, "question", "questions"),
		found.Took.Round(time.Second), strings.Join(where, ", "))
}

const mostWhere = 6 // blocks that are named; our choice

// learnedChannels is a table of where quantities are and what they read.
func (w *writer) learnedChannels(r *learn.Result) {
	have := quantitiesOf(r.Points)
	if len(have) == 0 {
		return
	}
	var names []string
	for _, q := range have {
		names = append(names, quantityWords(q))
	}
	w.line(fmt.Sprintf("Found, from %s: %s", Count(len(tiesOf(r)), "tie", "ties"), strings.Join(names, ", ")))
	for _, q := range have {
		w.learnedRow(r.Points, q, "")
		w.signNotSeen(r.Points, q)
	}
}

// signNotSeen warns of a quantity that was never negative where it could be.
func (w *writer) signNotSeen(points []learn.Point, q reading.Quantity) {
	if slices.ContainsFunc(points, func(p learn.Point) bool { return p.Quantity == q && p.NoSignSeen }) {
		w.line(fmt.Sprintf("  %-15s %s", "", learn.NeverNegative))
	}
}

func (w *writer) learnedRow(points []learn.Point, q reading.Quantity, after string) {
	w.line(fmt.Sprintf("  %-15s %-33s  %s%s", q, registersOf(points, q), valuesOf(points, q), after))
}

// quantitiesOf lists the quantities of points in their order.
func quantitiesOf(points []learn.Point) []reading.Quantity {
	var all []reading.Quantity
	for _, p := range points {
		if !slices.Contains(all, p.Quantity) {
			all = append(all, p.Quantity)
		}
	}
	return all
}

// quantityWords is a quantity as a person calls it.
func quantityWords(q reading.Quantity) string {
	switch q {
	case reading.Reactive, reading.Apparent:
		return q.String() + " power"
	case reading.PowerFactor:
		return "power factor"
	}
	return strings.ReplaceAll(q.String(), "_", " ")
}

// registersOf says where the values of a quantity are, and how they are read.
func registersOf(points []learn.Point, q reading.Quantity) string {
	var first, last *learn.Point
	for i := range points {
		if p := &points[i]; p.Quantity == q {
			if first == nil {
				first = p
			}
			last = p
		}
	}
	where := fmt.Sprintf("%s %d", first.Table, first.Address)
	if end := last.Address + last.Count - 1; end > first.Address {
		where += fmt.Sprintf("-%d", end)
	}
	if where += fmt.Sprintf(", %s", first.Type); first.Count > 1 {
		where += " " + string(first.Order)
	}
	if first.Scale != 1 {
		where += fmt.Sprintf(" x %g", first.Scale)
	}
	return where
}

func valuesOf(points []learn.Point, q reading.Quantity) string {
	var values []string
	for _, p := range points {
		if p.Quantity == q {
			values = append(values, fmt.Sprintf("%.5g", p.Reads))
		}
	}
	return strings.TrimSpace(strings.Join(values, ", ") + " " + q.Unit())
}

// tiesOf lists all ties once.
func tiesOf(r *learn.Result) []string {
	var all []string
	for _, p := range r.Points {
		for _, t := range p.Ties {
			if text := t.String(); !slices.Contains(all, text) {
				all = append(all, text)
			}
		}
	}
	return all
}

func (w *writer) learnedTies(r *learn.Result) {
	if all := tiesOf(r); len(all) > 0 {
		w.line("What ties them:")
		for _, one := range all {
			w.line("  " + one)
		}
	}
}

// notSettled lists what is open and asks for what would settle it.
func (w *writer) notSettled(r *learn.Result) {
	if len(r.Open) > 0 {
		w.line("Not settled, and left out; the likeliest reading of each:")
	}
	for _, q := range quantitiesOf(r.Open) {
		w.learnedRow(r.Open, q, fmt.Sprintf("  (%.0f %%)", 100*leastProbable(r.Open, q)))
	}
	w.doubts(r)
	if r.Settled {
		w.says(SoleWords(r))
		return
	}
	w.rivals(r)
	w.says(WhatSettles(r, "")...)
}

// says writes sentences, those that aren't empty.
func (w *writer) says(sentences ...string) {
	for _, text := range sentences {
		if text != "" {
			w.line(text)
		}
	}
}

// doubts lists what speaks against it.
func (w *writer) doubts(r *learn.Result) {
	all := r.OtherDoubts()
	if len(all) > 0 {
		w.line("What speaks against it:")
	}
	for _, d := range all {
		w.line("  " + d.String())
	}
}

func leastProbable(points []learn.Point, q reading.Quantity) float64 {
	least := 1.
	for _, p := range points {
		if p.Quantity == q {
			least = min(least, p.Probability)
		}
	}
	return least
}

func measuredName(p reading.Point) string {
	if p.Index == 0 {
		return "total"
	}
	return fmt.Sprintf("channel %d", p.Index)
}

// instrumentFor says with what a point is measured and where.
func instrumentFor(p reading.Point, r *learn.Result) string {
	switch p.Quantity {
	case reading.Voltage:
		return "a multimeter between " + inputsOf(p.Index, r)
	case reading.Current:
		return fmt.Sprintf("a clamp on the conductor that CT %d is round", p.Index)
	case reading.TotalPower:
		return "the total power on the meter's display"
	}
	return fmt.Sprintf("the power of channel %d on the meter's display", p.Index)
}
