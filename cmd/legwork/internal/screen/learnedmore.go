package screen

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"legwork/probe/learn"
	"legwork/probe/reading"
	"legwork/probe/regmap"
)

// RefusedWords says that a meter refused so much that what was found is incomplete;
// empty where it didn't.
func (f Registers) RefusedWords() string {
	if f.Failed*manyRefused < f.Asked {
		return ""
	}
	return fmt.Sprintf("The meter refused %d of %d requests with %v: what it gave is incomplete. Read again when nothing "+
		"else asks it.", f.Failed, f.Asked, f.By)
}

// manyRefused is one in how many requests that is worth to be said. Our choice.
const manyRefused = 50

// UnfitWords says of each measurement that isn't what was found what was found
// instead, and what to do.
func UnfitWords(r *learn.Result) []string {
	var all []string
	for _, u := range r.Unfit {
		reads := fmt.Sprintf("there is no channel %d among them", u.Point.Index)
		if u.Found {
			reads = "what was found for it reads " + shown(u.Point, u.Reads)
		}
		if u.Open {
			reads += ", or that times a power of ten"
		}
		if k := fitsChannel(r, u); k > 0 {
			reads += fmt.Sprintf("; it is what channel %d reads", k)
		}
		all = append(all, fmt.Sprintf("Measured, but it fits no register: %s; %s. Measure it again: %s.",
			MeasuredAs(u.Point, figures(u.Point, u.Value)), reads, instrumentFor(u.Point, r)))
	}
	return all
}

// fitsChannel is another channel that reads what was measured of one; 0 where none does.
func fitsChannel(r *learn.Result, u learn.Unfit) int {
	for _, p := range slices.Concat(r.Points, r.Open) {
		if p.Quantity == u.Point.Quantity && p.Index != u.Point.Index && u.Fits(p.Reads, 0) {
			return p.Index
		}
	}
	return 0
}

// OffWords says that a map reads otherwise than was measured.
func OffWords(m learn.Measured, reads reading.Value) string {
	by := fmt.Sprintf("has no channel %d", m.Point.Index)
	if x, known := reads.Get(); known {
		by = "reads " + shown(m.Point, x)
	}
	return fmt.Sprintf("Measured: %s; the map that is there %s", MeasuredAs(m.Point, figures(m.Point, m.Value)), by)
}

// shown is a value in the unit that instruments have.
func shown(p reading.Point, x float64) string { return figures(p, x) + " " + MeasuredIn(p) }

func figures(p reading.Point, x float64) string {
	if strings.HasPrefix(MeasuredIn(p), "k") {
		x /= 1000
	}
	text := fmt.Sprintf("%.4g", x)
	if strings.Contains(text, "e") {
		text = strconv.FormatFloat(x, 'f', -1, 64)
	}
	return text
}

// SoleWords says that all scales rest on one measurement; empty where they don't.
func SoleWords(r *learn.Result) string {
	if r.Sole == nil {
		return ""
	}
	return fmt.Sprintf("All currents and powers rest on this one reading, %s; a second one would prove it.",
		MeasuredAs(r.Sole.Point, figures(r.Sole.Point, r.Sole.Value)))
}

// WhatSettles says what to measure where a result isn't settled; command is what
// comes before the flags.
func WhatSettles(r *learn.Result, command string) []string {
	if r.Ask != nil && r.Channels > 0 {
		if command != "" { // a question has said with what
			return []string{fmt.Sprintf("This would settle most: %s%s", command, measuredFlag(r.Ask.Point))}
		}
		return []string{fmt.Sprintf("This would settle most: %s. Then: %s%s", instrumentFor(r.Ask.Point, r),
			measuredFlag(r.Ask.Point), expected(r.Ask))}
	}
	if slices.ContainsFunc(r.Doubts, func(d learn.Doubt) bool { return d.Kind == learn.NoSign || d.Kind == learn.Ratio }) {
		return []string{"No measurement settles that: look for other registers with --range and --table, or fill in a map."}
	}
	if len(r.Lacked) == 0 {
		return []string{"All that instruments and the display show was given. Read again while loads change: what moves " +
			"together says more."}
	}
	var flags []string
	for _, p := range firstOfEach(r.Lacked) {
		flags = append(flags, measuredFlag(p))
	}
	lines := []string{fmt.Sprintf("These together would settle most: %s. Then: %s%s", lackedWords(r.Lacked), command,
		strings.Join(flags, " "))}
	if r.Channels == 0 {
		lines = append(lines, "If they don't: is there voltage at the meter, and does current flow? Every channel needs some.")
	}
	return lines
}

func measuredFlag(p reading.Point) string { return fmt.Sprintf("--measured %q", MeasuredAs(p, "...")) }

// expected lists what a measurement may show.
func expected(a *learn.Ask) string {
	if len(a.Or) < 2 {
		return ""
	}
	var or []string
	for _, x := range a.Or {
		if strings.HasPrefix(MeasuredIn(a.Point), "k") {
			x /= 1000
		}
		or = append(or, fmt.Sprintf("%.3g", x))
	}
	return fmt.Sprintf(" (%s %s is expected)", strings.Join(or, " or "), MeasuredIn(a.Point))
}

func firstOfEach(points []reading.Point) []reading.Point {
	return slices.CompactFunc(byQuantity(points), func(a, b reading.Point) bool { return a.Quantity == b.Quantity })
}

func byQuantity(points []reading.Point) []reading.Point {
	return slices.SortedStableFunc(slices.Values(points), func(a, b reading.Point) int {
		return int(a.Quantity) - int(b.Quantity)
	})
}

// lackedWords names points by their quantities: "voltage of channels 2, 3, total power".
func lackedWords(points []reading.Point) string {
	channels := map[reading.Quantity][]string{}
	for _, p := range points {
		if p.Index > 0 {
			channels[p.Quantity] = append(channels[p.Quantity], fmt.Sprint(p.Index))
		}
	}
	var all []string
	for _, p := range firstOfEach(points) {
		text := quantityWords(p.Quantity)
		switch of := channels[p.Quantity]; len(of) {
		case 0:
		case 1:
			text += " of channel " + of[0]
		default:
			text += " of channels " + strings.Join(of[:len(of)-1], ", ") + " and " + of[len(of)-1]
		}
		all = append(all, text)
	}
	return strings.Join(all, "; ")
}

// rivals shows what else could be the case of what isn't settled.
func (w *writer) rivals(r *learn.Result) {
	differ := slices.DeleteFunc(quantitiesOf(r.Rival), func(q reading.Quantity) bool {
		return registersOf(r.Rival, q) == registersOf(slices.Concat(r.Open, r.Points), q)
	})
	if len(differ) > 0 {
		w.line("The next likeliest reading:")
	}
	for _, q := range differ {
		w.learnedRow(r.Rival, q, fmt.Sprintf("  (%.0f %%)", 100*leastProbable(r.Rival, q)))
	}
	if len(differ) > 0 || !hasOf(r.Points, reading.Voltage) {
		return
	}
	for _, q := range quantitiesOf(r.Open) {
		if below, ok := alikeBelow(r.Open, q); ok && q <= reading.Power {
			w.line(fmt.Sprintf("The %s may be 32 bits or 16 bits long: both read the same below %s.", quantityWords(q),
				shown(reading.Point{Quantity: q}, below)))
		}
	}
}

func hasOf(points []learn.Point, q reading.Quantity) bool {
	return slices.ContainsFunc(points, func(p learn.Point) bool { return p.Quantity == q })
}

// alikeBelow is the value under which integers of 16 and of 32 bits read the same;
// false where some value is above, so that it tells the two apart.
func alikeBelow(points []learn.Point, q reading.Quantity) (float64, bool) {
	below := 0.
	for _, p := range points {
		if p.Quantity != q {
			continue
		}
		most := 1 << 16 // the low half of a positive one
		switch p.Type {
		case regmap.S16:
			most = 1 << 15
		case regmap.S32, regmap.U16, regmap.U32:
		default:
			return 0, false
		}
		if below = float64(most) * p.Scale; math.Abs(p.Reads) >= below {
			return 0, false
		}
	}
	return below, below > 0
}
