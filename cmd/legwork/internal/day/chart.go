package day

import (
	_ "embed" // the style sheet
	"fmt"
	"html"
	"html/template"
	"math"
	"strings"
	"time"

	"legwork/cmd/legwork/internal/survey"
)

//go:embed day.css
var style string

// Style is the style sheet that the drawing needs. It takes the colours of the page.
func Style() string { return style }

// The drawing's measures. It is as wide as the page lets it be, so that places
// across are percentages; those down are in em, the size of its text.
const (
	headHigh = 1.5 // a channel's line of text
	plotHigh = 3.6
	rowHigh  = 1.5 // the verdicts, and the hours
	betweenY = 0.4
)

// pen writes elements, downwards.
type pen struct {
	strings.Builder
	id string
	y  float64 // em
}

func (p *pen) put(format string, args ...any) { fmt.Fprintf(&p.Builder, format+"\n", args...) }

// across is where a step begins, in percent.
func across(step int) float64 { return 100 * float64(step) / Steps }

// SVG draws the day. Its id is unlike that of any other drawing on the page.
func (d *Day) SVG(id string) template.HTML {
	body := &pen{id: id}
	low, high := d.scale()
	for k := range d.Steps[0].Power {
		if _, _, known := d.between(k); known {
			d.channel(body, k, low, high)
		}
	}
	d.verdictRow(body)
	d.hours(body)
	p := &pen{}
	p.put(`<svg class="day" width="100%%" height="%.1fem" role="img" aria-labelledby="%s-title %[2]s-desc" `+
		`xmlns="http://www.w3.org/2000/svg">`, body.y, id)
	p.put(`<title id="%s-title">The last day</title><desc id="%[1]s-desc">%s</desc>`, id,
		html.EscapeString(strings.Join(d.Words(), " ")))
	p.put(`<defs><pattern id="%s-hatch" width="6" height="6" patternUnits="userSpaceOnUse">`+
		`<path class="hatch" d="M-1 7L7 -1M-1 1L1 -1M5 7L7 5"/></pattern></defs>`, id)
	p.WriteString(body.String())
	p.put(`</svg>`)
	return template.HTML(p.String()) // numbers, and words of this package
}

// scale is what all channels are drawn between: the least and the most power,
// and 0.
func (d *Day) scale() (low, high float64) {
	for k := range d.Steps[0].Power {
		if l, h, known := d.between(k); known {
			low, high = min(low, l), max(high, h)
		}
	}
	if low == high {
		high = 1
	}
	return low, high
}

// resolution is the height of a plot in its own units.
const resolution = 100

// channel draws the means of one channel, as an area from 0.
func (d *Day) channel(p *pen, k int, low, high float64) {
	least, most, _ := d.between(k)
	p.put(`<text x="0" y="%.2fem">Channel %d</text><text class="end" x="100%%" y="%.2[1]fem">%[3]s to %[4]s</text>`,
		p.y+headHigh-0.4, k+1, survey.KW(least), survey.KW(most))
	p.y += headHigh
	d.each(func(i int, _ time.Time) {
		p.put(`<line class="tick" x1="%.2f%%" x2="%.2[1]f%%" y1="%.1[2]fem" y2="%.1[3]fem"/>`, across(i), p.y, p.y+plotHigh)
	})
	y := func(w float64) int { return int(math.Round(resolution * (high - w) / (high - low))) }
	p.put(`<svg x="0" y="%.1fem" width="100%%" height="%.1fem" viewBox="0 0 %d %d" preserveAspectRatio="none">`+
		`<path class="power" d="%s"/><path class="zero" d="M0 %dH%[3]d"/></svg>`,
		p.y, plotHigh, Steps, resolution, d.area(k, y), y(0))
	d.missing(p)
	p.y += plotHigh + betweenY
}

// area goes along the means of each run of steps that have one, and back at 0.
func (d *Day) area(k int, y func(float64) int) string {
	var b strings.Builder
	all, known := runs(d, func(s *Span) bool { return s.Power[k].Known() })
	for i, r := range all {
		if !known[i] {
			continue
		}
		fmt.Fprintf(&b, "M%d %d", r.from, y(0))
		for s := r.from; s < r.to; s++ {
			fmt.Fprintf(&b, "V%dH%d", y(d.Steps[s].Power[k].Or(0)), s+1)
		}
		fmt.Fprintf(&b, "V%dZ", y(0))
	}
	return b.String()
}

// missing hatches a channel's plot where there is no reading.
func (d *Day) missing(p *pen) {
	all, why := runs(d, gap)
	for i, r := range all {
		if why[i] != "" && r.from < Steps-1 {
			p.put(`<rect class="missing" fill="url(#%s-hatch)" x="%.2f%%" y="%.1fem" width="%.2f%%" height="%.1fem"/>`, p.id,
				across(r.from), p.y, across(r.to-r.from), plotHigh)
		}
	}
}

// widestSign is how many steps a run has that its sign fits in, on a telephone.
const widestSign = 12

// verdictRow draws the verdicts, one beside the other.
func (d *Day) verdictRow(p *pen) {
	all, verdicts := runs(d, func(s *Span) string { return s.Verdict })
	if len(all) == 1 && verdicts[0] == "" {
		return
	}
	for i, r := range all {
		if verdicts[i] == "" {
			continue
		}
		p.put(`<rect class="is %s" x="%.2f%%" y="%.1fem" width="%.2f%%" height="%.1fem"/>`, verdicts[i], across(r.from), p.y,
			across(r.to-r.from), rowHigh)
		if r.to-r.from >= widestSign {
			p.put(`<text class="sign" x="%.2f%%" y="%.2fem">%s</text>`, across(r.from+r.to)/2, p.y+1.1,
				verdictSigns[verdicts[i]])
		}
	}
	p.y += rowHigh
}

// hours writes them below their marks.
func (d *Day) hours(p *pen) {
	p.y += rowHigh
	d.each(func(i int, at time.Time) {
		class := "hour"
		switch {
		case i < widestSign:
			class += " start"
		case i > Steps-widestSign:
			class += " end"
		}
		p.put(`<text class="%s" x="%.2f%%" y="%.2fem">%s</text>`, class, across(i), p.y-0.3, at.Format("15:04"))
	})
}

// each calls for the step that begins every sixth hour of the local clock.
func (d *Day) each(do func(i int, at time.Time)) {
	for i := range d.Steps {
		at := d.From.Add(time.Duration(i) * Step).Local()
		if at.Hour()%6 == 0 && at.Minute() < int(Step.Minutes()) {
			do(i, at)
		}
	}
}
