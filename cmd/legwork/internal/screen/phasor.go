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
}

// canvas is dots in cells of two by four (Unicode's Braille patterns), or of
// one by one in ASCII.
type canvas struct {
	columns, rows int
	dots          map[[2]int]byte // by dot: 'v' solid, 'i' dotted
	labels        map[[2]int]rune // by cell
	perX, perY    int
}

func newCanvas(columns, rows int, ascii bool) *canvas {
	c := &canvas{columns: columns, rows: rows, dots: map[[2]int]byte{}, labels: map[[2]int]rune{}, perX: 2, perY: 4}
	if ascii {
		c.perX, c.perY = 1, 1
	}
	return c
}

// Phasors draws rays from a middle into lines of text. A cell is twice as
// high as it is wide.
func Phasors(rays []Ray, columns, rows int, ascii bool) []string {
	c := newCanvas(columns, rows, ascii)
	for _, r := range rays {
		c.ray(r)
	}
	middle := [2]int{columns / 2, rows / 2}
	if _, taken := c.labels[middle]; !taken {
		c.labels[middle] = '+'
	}
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
		at := [2]int{int(math.Floor(x0*float64(c.perX) + share*dx)), int(math.Floor(y0*float64(c.perY) + share*dy))}
		if _, taken := c.dots[at]; !taken {
			c.dots[at] = 'v'
			if r.Dotted {
				c.dots[at] = 'i'
			}
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
	for _, shift := range [][2]int{{0, 0}, {0, 1}, {0, -1}, {2, 0}, {-3, 0}, {2, 1}, {-3, 1}, {2, -1}, {-3, -1}, {0, 2}, {0, -2}} {
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
		if _, taken := c.labels[[2]int{column + i, row}]; taken {
			return false
		}
	}
	for i, letter := range text {
		c.labels[[2]int{column + i, row}] = letter
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
	for len(lines) > 0 && lines[0] == "" {
		lines = lines[1:]
	}
	for len(lines) > 0 && lines[len(lines)-1] == "" {
		lines = lines[:len(lines)-1]
	}
	return lines
}

// brailleBits are the dots of a Braille cell by column and row (Unicode 15,
// chapter 21.1).
var brailleBits = [2][4]rune{{0x01, 0x02, 0x04, 0x40}, {0x08, 0x10, 0x20, 0x80}}

func (c *canvas) cell(x, y int, ascii bool) rune {
	if r, ok := c.labels[[2]int{x, y}]; ok {
		return r
	}
	if ascii {
		switch c.dots[[2]int{x, y}] {
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
			if c.dots[[2]int{2*x + i, 4*y + j}] != 0 {
				bits |= brailleBits[i][j]
			}
		}
	}
	if bits == 0 {
		return ' '
	}
	return 0x2800 + bits
}
