package screen

import (
	"math"
	"strings"
)

// Ray is one phasor of the drawing.
type Ray struct {
	Label   string
	Degrees float64 // anticlockwise from the right
	Length  float64 // 0 to 1
	Dotted  bool    // currents, so that they differ without colour
	Channel int     // from 1
}

// canvas is dots in cells of two by four (Unicode's Braille patterns), or of
// one by one in ASCII.
type canvas struct {
	columns, rows int
	dots          []byte // by dot, row by row: 'v' solid, 'i' dotted
	labels        []rune // by cell, row by row
	perX, perY    int
}

func newCanvas(columns, rows int, ascii bool) *canvas {
	c := &canvas{columns: columns, rows: rows, perX: 2, perY: 4}
	if ascii {
		c.perX, c.perY = 1, 1
	}
	c.dots, c.labels = make([]byte, columns*c.perX*rows*c.perY), make([]rune, columns*rows)
	return c
}

// dot is the place of a dot; one beside the canvas is nil.
func (c *canvas) dot(x, y int) *byte {
	wide := c.columns * c.perX
	if x < 0 || y < 0 || x >= wide || y >= c.rows*c.perY {
		return nil
	}
	return &c.dots[y*wide+x]
}

// Phasors draws rays from a middle into at most so many lines of text, without
// the empty ones above and below. A cell is twice as high as it is wide.
func Phasors(rays []Ray, columns, rows int, ascii bool) []string {
	lines := PhasorsIn(rays, columns, rows, ascii)
	for len(lines) > 0 && lines[0] == "" {
		lines = lines[1:]
	}
	for len(lines) > 0 && lines[len(lines)-1] == "" {
		lines = lines[:len(lines)-1]
	}
	return lines
}

// PhasorsIn draws rays into just so many lines, so that a picture that changes
// stays where it is. A size too small for any picture gives empty lines.
func PhasorsIn(rays []Ray, columns, rows int, ascii bool) []string {
	if columns < 12 || rows < 5 {
		return make([]string, max(0, rows))
	}
	c := newCanvas(columns, rows, ascii)
	for _, r := range rays {
		c.ray(r)
	}
	c.labels[rows/2*columns+columns/2] = '+'
	for _, r := range rays {
		c.label(r)
	}
	return c.lines(ascii)
}

// point is the place at a share of a ray, in cells.
func (c *canvas) point(r Ray, share float64) (x, y float64) {
	reachY := float64(c.rows)/2 - 1
	reachX := math.Min(float64(c.columns)/2-3, 2*reachY)
	a := r.Degrees * math.Pi / 180
	x = float64(c.columns)/2 + share*r.Length*reachX*math.Cos(a)
	y = float64(c.rows)/2 - share*r.Length*reachX/2*math.Sin(a)
	return x, y
}

// ray sets dots along a line, one for each step of its longer side; every third
// only for a dotted one.
func (c *canvas) ray(r Ray) {
	x0, y0 := c.point(r, 0)
	x1, y1 := c.point(r, 1)
	dx, dy := (x1-x0)*float64(c.perX), (y1-y0)*float64(c.perY)
	steps := int(math.Ceil(math.Max(math.Abs(dx), math.Abs(dy))))
	for i := range steps {
		if r.Dotted && c.perX == 2 && i%3 != 0 {
			continue
		}
		share := float64(i) / float64(steps)
		at := c.dot(int(math.Floor(x0*float64(c.perX)+share*dx)), int(math.Floor(y0*float64(c.perY)+share*dy)))
		if at == nil || *at != 0 {
			continue
		}
		*at = 'v'
		if r.Dotted {
			*at = 'i'
		}
	}
}

// label writes the name just beyond the end of the ray, on the nearest free cells.
func (c *canvas) label(r Ray) {
	reach := r
	reach.Length += 0.12
	x, y := c.point(reach, 1)
	row, column := int(math.Floor(y)), int(math.Floor(x))
	if math.Cos(r.Degrees*math.Pi/180) < -0.3 {
		column -= len(r.Label) - 1
	}
	column = min(max(column, 0), c.columns-len(r.Label))
	for _, shift := range [][2]int{{0, 0}, {0, 1}, {0, -1}, {2, 0}, {-3, 0}, {2, 1}, {-3, 1}, {2, -1}, {-3, -1}, {0, 2},
		{0, -2}} {
		if c.write(column+shift[0], row+shift[1], r.Label) {
			return
		}
	}
}

func (c *canvas) write(column, row int, text string) bool {
	if row < 0 || row >= c.rows || column < 0 || column+len(text) > c.columns {
		return false
	}
	for i := range len(text) {
		if c.labels[row*c.columns+column+i] != 0 {
			return false
		}
	}
	for i, letter := range text {
		c.labels[row*c.columns+column+i] = letter
	}
	return true
}

func (c *canvas) lines(ascii bool) []string {
	lines := make([]string, c.rows)
	for y := range c.rows {
		var b strings.Builder
		for x := range c.columns {
			b.WriteRune(c.cell(x, y, ascii))
		}
		lines[y] = strings.TrimRight(b.String(), " ")
	}
	return lines
}

// brailleBits are the dots of a Braille cell by column and row (Unicode 15,
// chapter 21.1).
var brailleBits = [2][4]rune{{0x01, 0x02, 0x04, 0x40}, {0x08, 0x10, 0x20, 0x80}}

func (c *canvas) cell(x, y int, ascii bool) rune {
	if r := c.labels[y*c.columns+x]; r != 0 {
		return r
	}
	if ascii {
		switch *c.dot(x, y) {
		case 'v':
			return '#'
		case 'i':
			return '.'
		}
		return ' '
	}
	bits := rune(0)
	for i := range 2 {
		for j := range 4 {
			if *c.dot(2*x+i, 4*y+j) != 0 {
				bits |= brailleBits[i][j]
			}
		}
	}
	if bits == 0 {
		return ' '
	}
	return 0x2800 + bits
}
