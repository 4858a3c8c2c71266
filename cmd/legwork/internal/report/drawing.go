package report

import (
	"fmt"
	"html"
	"html/template"
	"math"
	"strings"

	"legwork/cmd/legwork/internal/screen"
	"legwork/diagnose"
	"legwork/probe/reading"
)

// The drawing's square, in its own units; angles are anticlockwise from the right.
const (
	side   = 296.0
	middle = side / 2
	reach  = 118.0 // of a voltage
)

// drawing makes an SVG of the phasors, and says in words what it shows. Colour
// only helps: voltages are whole lines with open heads, currents broken ones,
// each with a pattern of its own, and every ray has its name at its end.
func drawing(r *diagnose.Result, id, name string) (template.HTML, string) {
	rays, apart := screen.RaysBy(*r, screen.RayOptions{Angle: angleOf, Least: 0.4})
	if len(rays) == 0 {
		return "", ""
	}
	caption := "Whole lines: voltages. Broken lines: currents, longer for more. Anticlockwise leads."
	if apart {
		caption = "Each current is drawn against its own voltage V: the meter gives no angles between the voltages. Longer for " +
			"more. Anticlockwise leads."
	}
	caption += remarks(r, rays)
	p := pen{}
	p.line(`<svg class="phasors" viewBox="0 0 %g %g" role="img" aria-labelledby="%s-title %s-desc" `+
		`xmlns="http://www.w3.org/2000/svg">`, side, side, id, id)
	p.line(`<title id="%s-title">Phasors, %s</title>`, id, html.EscapeString(strings.ToLower(name)))
	p.line(`<desc id="%s-desc">%s</desc>`, id, html.EscapeString(described(r, apart)))
	p.line(`<circle class="ring" cx="%g" cy="%g" r="%g"/><path class="ring" d="M%g %gH%gM%g %gV%g"/>`,
		middle, middle, reach, middle-reach, middle, middle+reach, middle, middle-reach, middle+reach)
	for _, one := range rays {
		p.ray(one)
	}
	for _, one := range rays {
		p.label(one, rays)
	}
	p.line(`</svg>`)
	return template.HTML(p.b.String()), caption // numbers, and words of this package
}

// remarks says what the drawing lacks, or had to take from elsewhere.
func remarks(r *diagnose.Result, rays []screen.Ray) string {
	currents, taken := 0, 0
	for _, one := range rays {
		if one.Dotted {
			currents++
		}
	}
	for _, c := range r.Channels {
		if _, ok := angleOf(c); ok && !c.Angle.Known() {
			taken++
		}
	}
	switch {
	case currents == 0:
		return " The angles of the currents are unknown."
	case taken > 0:
		return " The angles of the currents come from P and Q as read; the sign of that Q may mean nothing."
	}
	return ""
}

// angleOf is the angle by which the current lags: the one that was judged, else
// that of P and Q as they were read.
func angleOf(c diagnose.ChannelJudged) (reading.Angle, bool) {
	if a, ok := c.Angle.Get(); ok {
		return a, true
	}
	watts, okP := c.Power.Get()
	vars, okQ := c.Reactive.Get()
	if !okP || !okQ || watts == 0 && vars == 0 {
		return 0, false
	}
	return reading.Radians(math.Atan2(vars, watts)), true
}

// described is the drawing in words, for those who don't see it.
func described(r *diagnose.Result, apart bool) string {
	var all []string
	for _, c := range r.Channels {
		s := fmt.Sprintf("Channel %d:", c.Channel)
		if c.VoltageAngle.Known() && !apart {
			s += fmt.Sprintf(" voltage at %s degrees,", screen.Plain(c.VoltageAngle, 0))
		}
		angle, ok := angleOf(c)
		switch {
		case !ok:
			s += " angle of the current not known"
		case angle < 0:
			s += fmt.Sprintf(" current %s A leads it by %.1f degrees", screen.Amount(c.Current, 1), -angle)
		default:
			s += fmt.Sprintf(" current %s A lags it by %.1f degrees", screen.Amount(c.Current, 1), angle)
		}
		all = append(all, s+", "+screen.StateWords(r, c)+".")
	}
	return strings.Join(all, " ")
}

// pen draws, and remembers where names are.
type pen struct {
	b     strings.Builder
	names [][2]float64
}

func (p *pen) line(format string, args ...any) { fmt.Fprintf(&p.b, format+"\n", args...) }

// at is the point at a share of reach in a direction; y grows downwards.
func at(degrees, share float64) (x, y float64) {
	sin, cos := math.Sincos(degrees * math.Pi / 180)
	return middle + reach*share*cos, middle - reach*share*sin
}

// ray draws a line with its head: open for a voltage, filled for a current.
func (p *pen) ray(r screen.Ray) {
	x, y := at(r.Degrees, r.Length)
	kind := "v"
	if r.Dotted {
		kind = "i"
	}
	p.line(`<g class="%s %s%d"><path class="stem" d="M%.1f %.1fL%.1f %.1f"/><path class="head" d="%s"/></g>`, kind, kind,
		r.Channel, middle, middle, x, y, head(r))
}

func head(r screen.Ray) string {
	tip, back := r.Length, r.Length-9/reach
	x, y := at(r.Degrees, tip)
	bx, by := at(r.Degrees, back)
	sin, cos := math.Sincos(r.Degrees * math.Pi / 180)
	const half = 4.0
	d := fmt.Sprintf("M%.1f %.1fL%.1f %.1fL%.1f %.1f", bx+half*sin, by+half*cos, x, y, bx-half*sin, by-half*cos)
	if r.Dotted {
		d += "Z"
	}
	return d
}

// tries are where a name may be: turned by some degrees, further in or out.
var tries = [][2]float64{{0, 0}, {10, -0.02}, {-10, -0.02}, {14, -0.1}, {-14, -0.1}, {20, -0.14}, {-20, -0.14},
	{0, 0.14}, {28, -0.16}, {-28, -0.16}, {40, -0.2}, {-40, -0.2}}

// label writes a ray's name at its end, where neither another name nor another
// ray stands; where everything is taken, just beyond its end.
func (p *pen) label(r screen.Ray, all []screen.Ray) {
	best := tries[0]
	for _, try := range tries {
		if x, y := place(r, try); p.free(x, y) && clear(x, y, r, all) {
			best = try
			break
		}
	}
	x, y := place(r, best)
	p.names = append(p.names, [2]float64{x, y})
	p.line(`<text class="name" x="%.1f" y="%.1f">%s</text>`, x, y+4.5, r.Label)
}

func place(r screen.Ray, try [2]float64) (x, y float64) {
	share := r.Length + 0.13 + try[1]
	return at(r.Degrees+try[0]/share, share)
}

// free reports that a name of two letters at a place covers no other.
func (p *pen) free(x, y float64) bool {
	for _, n := range p.names {
		if math.Abs(n[0]-x) < 20 && math.Abs(n[1]-y) < 15 {
			return false
		}
	}
	return true
}

// clear reports that no other screen.Ray passes below a name at a place.
func clear(x, y float64, own screen.Ray, all []screen.Ray) bool {
	const room = 10.0
	for _, r := range all {
		if r.Label == own.Label {
			continue
		}
		ex, ey := at(r.Degrees, r.Length)
		dx, dy := ex-middle, ey-middle
		share := ((x-middle)*dx + (y-middle)*dy) / (dx*dx + dy*dy)
		share = math.Max(0, math.Min(1, share))
		if math.Hypot(x-middle-share*dx, y-middle-share*dy) < room {
			return false
		}
	}
	return true
}
