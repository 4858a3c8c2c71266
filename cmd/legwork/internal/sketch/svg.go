package sketch

import (
	_ "embed" // the style sheet
	"fmt"
	"html"
	"html/template"
	"slices"
	"strings"
)

//go:embed sketch.css
var style string

// Style is the style sheet that the SVG needs. It takes the colours of the page: --ink, --page, --volt, --amp and --quiet.
func Style() string { return style }

// The drawing's measures, in its own units. It is as wide as a telephone's page, so that its text is as large there as the
// page's.
const (
	svgWide   = 372
	svgLabel  = 60  // from here on there are conductors
	svgTap    = 34  // from one voltage input to the next
	svgFirst  = 46  // the first conductor, from the top
	svgRow    = 34  // from one conductor to the next
	svgMeter  = 32  // height of the meter
	svgMark   = 24  // height of a line of marks
	svgLetter = 9.4 // width of a letter of a mark, at most
)

// pen writes elements.
type pen struct {
	strings.Builder
	p Picture
}

func (d *pen) put(format string, args ...any) { fmt.Fprintf(&d.Builder, format+"\n", args...) }

// SVG draws one picture. Its id is unlike that of any other drawing on the page, and its title says of what it is.
func SVG(t Titled, id string) template.HTML {
	d := &pen{p: t.Picture}
	marks, deep := d.place()
	meter := svgFirst + svgRow*(len(d.p.Rows)-1) + 26
	high := meter + svgMeter + 6 + svgMark*deep
	d.put(`<svg class="sketch" viewBox="0 0 %d %d" role="img" aria-labelledby="%s-title %[3]s-desc" xmlns="http://www.w3.org/2000/svg">`, svgWide, high, id)
	d.put(`<title id="%s-title">Where the leads and CTs are, %s</title>`, id, html.EscapeString(strings.ToLower(t.Title)))
	d.put(`<desc id="%s-desc">%s</desc>`, id, html.EscapeString(strings.Join(Words(d.p), " ")))
	d.put(`<text class="flow" x="%d" y="17">supply</text><text class="flow end" x="%d" y="17">load</text>`, svgLabel, svgWide)
	d.put(`<path class="flow" d="M%d 13H%dm-7 -4l7 4l-7 4"/>`, svgLabel+54, svgWide-40)
	for i, name := range d.p.Rows {
		d.put(`<text x="0" y="%d">%s</text><path class="leg" d="M%d %dH%d"/>`, d.y(i)+5, name, svgLabel, d.y(i), svgWide)
	}
	d.put(`<rect class="meter" x="%d" y="%d" width="%d" height="%d" rx="4"/><text class="flow" x="0" y="%d">meter</text>`,
		svgLabel, meter, svgWide-svgLabel-1, svgMeter, meter+21)
	for i, tap := range d.p.Taps {
		d.tap(i, tap, meter)
	}
	for i, c := range d.p.CTs {
		d.ct(i, c, meter)
	}
	for _, m := range marks {
		d.mark(m, meter+svgMeter)
	}
	d.put(`</svg>`)
	return template.HTML(d.String()) // numbers, and words of this package
}

func (d *pen) y(row int) int { return svgFirst + svgRow*row }

// x is the place of an input: the CTs share what room the voltage inputs leave.
func (d *pen) x(s Side, i int) int {
	if s == Volts {
		return svgLabel + svgTap*i + svgTap/2
	}
	from := svgLabel + svgTap*len(d.p.Taps)
	each := (svgWide - from) / len(d.p.CTs)
	return from + each*i + each/2
}

// lead goes down from a height to the meter, over the conductors between.
func (d *pen) lead(class string, x, from, meter int) {
	d.put(`<path class="over" d="M%d %dV%d"/><path class="%s" d="M%[1]d %[2]dV%[3]d"/>`, x, from, meter, class)
}

func (d *pen) tap(i int, t Tap, meter int) {
	x := d.x(Volts, i)
	if t.Row != nowhere {
		y := d.y(t.Row)
		switch t.Contact {
		case Open:
			d.lead("volts", x, y+12, meter)
			d.put(`<path class="open" d="M%d %dl10 10m0 -10l-10 10"/>`, x-5, y+3)
		case Unsure:
			d.lead("volts", x, y+5, meter)
			d.put(`<circle class="tap unsure" cx="%d" cy="%d" r="5"/>`, x, y)
		default:
			d.lead("volts", x, y, meter)
			d.put(`<circle class="tap" cx="%d" cy="%d" r="5"/>`, x, y)
		}
	}
	d.put(`<text class="input" x="%d" y="%d">%s</text>`, x, meter+21, t.Name)
}

// ct is a ring round the conductor with its arrow on it.
func (d *pen) ct(i int, c CT, meter int) {
	x := d.x(Amps, i)
	if c.Row != nowhere {
		y := d.y(c.Row)
		class := "ring"
		if d.marked(i) {
			class += " off"
		}
		way := 1
		if c.ToSupply {
			way = -1
		}
		d.lead("amps", x, y+13, meter)
		d.put(`<ellipse class="%s" cx="%d" cy="%d" rx="15" ry="13"/><path class="leg" d="M%d %dh30"/><path class="arrow" d="M%d %dl%d 7v-14z"/>`,
			class, x, y, x-15, y, x+9*way, y, -17*way)
	}
	d.put(`<text class="input" x="%d" y="%d">%s</text>`, x, meter+21, c.Name)
}

func (d *pen) marked(ct int) bool {
	return slices.ContainsFunc(d.p.Marks, func(m Mark) bool { return m.Side == Amps && (m.At == ct || m.With == ct) })
}

// spot is a mark where it is drawn: in which line, the middle and half width of its word, and how far it reaches in all.
type spot struct {
	Mark
	line         int
	middle, half float64
	from, to     float64
}

// place finds for every mark the first line on which it touches no other, and says how many lines there are.
func (d *pen) place() (all []spot, deep int) {
	var lines [][]spot
	for _, m := range d.p.Marks {
		s := spot{Mark: m, half: svgLetter * float64(len(m.Word)) / 2, from: float64(d.x(m.Side, m.At)), to: float64(d.x(m.Side, m.With))}
		s.middle = min(max((s.from+s.to)/2, s.half), svgWide-s.half)
		s.from, s.to = min(s.from, s.middle-s.half), max(s.to, s.middle+s.half)
		for s.line < len(lines) && touches(lines[s.line], s) {
			s.line++
		}
		if s.line == len(lines) {
			lines = append(lines, nil)
		}
		lines[s.line] = append(lines[s.line], s)
		all = append(all, s)
	}
	return all, len(lines)
}

func touches(line []spot, s spot) bool {
	return slices.ContainsFunc(line, func(o spot) bool { return s.from < o.to && o.from < s.to })
}

// mark writes a word, and for a pair the bracket above it.
func (d *pen) mark(s spot, from int) {
	y := from + svgMark*s.line
	if s.At != s.With {
		x, to := d.x(s.Side, s.At), d.x(s.Side, s.With)
		gap := int(s.half)
		if to-x < 2*gap+8 { // the word below the bracket
			d.put(`<path class="pair" d="M%d %dv6H%dv-6"/><text class="mark" x="%g" y="%d">%s</text>`, x, y+3, to, s.middle, y+22, s.Word)
			return
		}
		middle := int(s.middle)
		d.put(`<path class="pair" d="M%d %dv12H%dM%d %dH%dv-12"/><text class="mark" x="%d" y="%d">%s</text>`,
			x, y+3, middle-gap, middle+gap, y+15, to, middle, y+20, s.Word)
		return
	}
	d.put(`<text class="mark" x="%g" y="%d">%s</text>`, s.middle, y+18, s.Word)
}
