package sketch

import (
	"slices"
	"strings"
)

// layout is the measures of a text drawing, in columns.
type layout struct {
	label     int  // for the conductors' names
	tap, ct   int  // of one input
	longNames bool // "leg 1" and "V1", not "1"
}

// layouts, the widest first. The first fits twice beside itself in 80 columns, the second in half of a small screen.
var layouts = []layout{{8, 3, 6, true}, {2, 2, 5, false}}

const gap = 3 // columns between two drawings

// glyphs are what lines are drawn with.
type glyphs struct {
	wire, lead, cross  rune
	contact            [3]rune // by Contact
	toLoad, toSupply   rune
	left, right, under rune // corners and line of a pair's bracket
}

var (
	unicode = glyphs{'─', '│', '┼', [3]rune{'●', '○', '×'}, '►', '◄', '└', '┘', '─'}
	ascii   = glyphs{'-', '|', '|', [3]rune{'*', 'o', 'x'}, '>', '<', '\\', '/', '_'}
)

// Titled is a picture with its title.
type Titled struct {
	Title string
	Picture
}

// Text draws pictures, as many side by side as the width allows, their titles in capitals. There are no lines where not
// even one fits.
func Text(all []Titled, width int, plain bool) []string {
	if len(all) == 0 {
		return nil
	}
	at := slices.IndexFunc(layouts, func(l layout) bool { return l.wide(all[0].Picture) <= width })
	if at < 0 {
		return nil
	}
	l, g := layouts[at], unicode
	if plain {
		g = ascii
	}
	wide := l.wide(all[0].Picture) + gap
	var lines []string
	for row := range slices.Chunk(all, (width+gap)/wide) {
		var one []string
		for i, t := range row {
			one = besides(one, l.draw(t, g), i*wide)
		}
		lines = append(lines, one...)
	}
	return lines
}

// besides puts lines into a column to the right of others.
func besides(lines, right []string, column int) []string {
	for i, r := range right {
		if i == len(lines) {
			lines = append(lines, "")
		}
		if r != "" {
			lines[i] += strings.Repeat(" ", max(0, column-len([]rune(lines[i])))) + r
		}
	}
	return lines
}

func (l layout) wide(p Picture) int { return l.label + l.tap*len(p.Taps) + l.ct*len(p.CTs) }

// column is where the lead of an input is.
func (l layout) column(p Picture, s Side, i int) int {
	if s == Volts {
		return l.label + l.tap*i + 1
	}
	return l.label + l.tap*len(p.Taps) + l.ct*i + l.ct/2
}

// sheet is a grid of characters.
type sheet [][]rune

func (s sheet) put(x, y int, text string) {
	for i, r := range []rune(text) {
		if y < len(s) && x+i >= 0 && x+i < len(s[y]) {
			s[y][x+i] = r
		}
	}
}

// draw is one picture in lines: its title, a line a conductor, the inputs' names, then the marks.
func (l layout) draw(t Titled, g glyphs) []string {
	p, wide := t.Picture, l.wide(t.Picture)
	marks, deep := l.place(p, g)
	s := make(sheet, 2+len(p.Rows)+deep)
	for y := range s {
		s[y] = []rune(strings.Repeat(" ", wide))
	}
	s.put(0, 0, strings.ToUpper(t.Title))
	if flow := "supply " + string(g.toLoad) + " load"; len(t.Title)+1+len([]rune(flow)) <= wide {
		s.put(wide-len([]rune(flow)), 0, flow)
	}
	l.conductors(s, p, g)
	foot := 1 + len(p.Rows)
	if l.longNames {
		s.put(0, foot, "meter")
	}
	for i, tap := range p.Taps {
		l.lead(s, p, Volts, i, tap.Row, g)
		if tap.Row != nowhere {
			s.put(l.column(p, Volts, i), tap.Row+1, string(g.contact[tap.Contact]))
		}
		l.name(s, foot, p, Volts, i, tap.Name)
	}
	for i, c := range p.CTs {
		l.lead(s, p, Amps, i, c.Row, g)
		if c.Row != nowhere {
			arrow := g.toLoad
			if c.ToSupply {
				arrow = g.toSupply
			}
			s.put(l.column(p, Amps, i)-1, c.Row+1, "("+string(arrow)+")")
		}
		l.name(s, foot, p, Amps, i, c.Name)
	}
	for _, m := range marks {
		s.put(m.x, foot+1+m.y, m.text)
	}
	lines := make([]string, len(s))
	for y := range s {
		lines[y] = strings.TrimRight(string(s[y]), " ")
	}
	return lines
}

func (l layout) conductors(s sheet, p Picture, g glyphs) {
	for i, name := range p.Rows {
		if !l.longNames {
			name = shortName(name)
		}
		s.put(0, i+1, name)
		for x := l.label; x < len(s[i+1]); x++ {
			s[i+1][x] = g.wire
		}
	}
}

// shortName is a leg's number, or the N of the neutral.
func shortName(name string) string {
	if name == "neutral" {
		return "N"
	}
	return name[len("leg "):][:1]
}

// lead goes from a conductor down to the inputs, across those between.
func (l layout) lead(s sheet, p Picture, side Side, i, row int, g glyphs) {
	if row == nowhere {
		return
	}
	for y := row + 1; y < len(p.Rows); y++ {
		s.put(l.column(p, side, i), y+1, string(g.cross))
	}
}

func (l layout) name(s sheet, y int, p Picture, side Side, i int, name string) {
	x := l.column(p, side, i)
	if side == Volts && !l.longNames {
		name = strings.TrimPrefix(name, "V")[:1]
	}
	if len(name) > 2 {
		x--
	}
	s.put(x, y, name)
}

// placed is a mark where it is drawn.
type placed struct {
	x, y int
	text string
}

// place finds for every mark the first line on which it touches no other, and says how many lines there are.
func (l layout) place(p Picture, g glyphs) (all []placed, deep int) {
	var ends []int // the first free column of each line
	for _, m := range p.Marks {
		x, text := l.written(p, m, g)
		y := 0
		for y < len(ends) && ends[y] > x {
			y++
		}
		if y == len(ends) {
			ends = append(ends, 0)
		}
		ends[y] = x + len([]rune(text)) + 1
		all = append(all, placed{x, y, text})
	}
	return all, len(ends)
}

// written is a mark as text, and its first column: a word beneath its input, or a bracket from one input to another with
// the word in it or beside it.
func (l layout) written(p Picture, m Mark, g glyphs) (int, string) {
	x, wide := l.column(p, m.Side, m.At), l.wide(p)
	if m.At == m.With {
		if m.Side == Amps && len(m.Word) > 1 {
			x -= len(m.Word) / 2
		}
		return max(0, min(x, wide-len(m.Word))), m.Word
	}
	span := l.column(p, m.Side, m.With) - x + 1
	if inner := span - 2 - len(m.Word); inner >= 0 {
		return x, string(g.left) + strings.Repeat(string(g.under), inner/2) + m.Word +
			strings.Repeat(string(g.under), inner-inner/2) + string(g.right)
	}
	text := string(g.left) + strings.Repeat(string(g.under), span-2) + string(g.right)
	if x+span+1+len(m.Word) <= wide {
		return x, text + " " + m.Word
	}
	return x - 1 - len(m.Word), m.Word + " " + text
}
