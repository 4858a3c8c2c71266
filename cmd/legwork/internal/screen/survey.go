package screen

import (
	"cmp"
	"fmt"
	"io"

	"legwork/cmd/legwork/internal/survey"
)

// Survey writes the outcome of a survey for a person: who goes where first.
func Survey(out io.Writer, r survey.Result, s Style) error {
	w := &writer{Style: s, out: out}
	w.line(w.paint(bold, surveyHead(&r)))
	if !r.Complete {
		w.item("  ! ", fmt.Sprintf("Interrupted: %d of %d meters were read.", len(r.Meters), r.Listed))
	}
	w.ranking(r.Meters)
	w.unread(r.Meters)
	w.bySite(r)
	w.balances(r.Balances)
	w.against(r.Against)
	return w.err
}

func surveyHead(r *survey.Result) string {
	c := r.Counts
	return fmt.Sprintf("%s: %s, %d undecided, %d unreadable, %d agree", Count(len(r.Meters), "meter", "meters"),
		Count(c.Fault, "fault", "faults"), c.Undecided, c.Unreadable, c.Agrees)
}

// lostWidth is the width of the column of lost power.
const lostWidth = 30

// ranking lists what is wrong or open; those that agree are counted only.
func (w *writer) ranking(all []survey.Meter) {
	titled := false
	for _, m := range all {
		if m.Status != survey.Fault && m.Status != survey.Undecided {
			continue
		}
		if !titled {
			titled = true
			w.line("")
			w.line(w.paint(bold, fmt.Sprintf("%*s  %s", -lostWidth, "lost power (95 %)", "meter")))
		}
		name := OneLine(m.Name)
		if m.Site != "" {
			name += " (" + OneLine(m.Site) + ")"
		}
		w.line(fmt.Sprintf("%*s  %s", -lostWidth, w.plain(lost(m)), name))
		w.item("    ", OneLine(m.Summary))
		if v := m.Verdict; m.Status == survey.Undecided && v != nil && len(v.NextTests) > 0 {
			w.item("    next: ", OneLine(v.NextTests[0].Ask))
		}
	}
}

// lost is a meter's lost power with its interval.
func lost(m survey.Meter) string {
	x, known := m.Lost.Get()
	if !known {
		if m.Status == survey.Undecided {
			return "undecided"
		}
		return unknown
	}
	return fmt.Sprintf("%s (%s to %s)", survey.KW(x), survey.KW(m.Low.Or(x)), survey.KW(m.High.Or(x)))
}

// mostUnread are listed.
const mostUnread = 20

func (w *writer) unread(all []survey.Meter) {
	n := 0
	for _, m := range all {
		if m.Status != survey.Unreadable {
			continue
		}
		if n++; n == 1 {
			w.head("Unreadable")
		}
		if n <= mostUnread {
			w.item("  ", OneLine(m.Name)+": "+OneLine(m.Summary))
		}
	}
	if n > mostUnread {
		w.line(fmt.Sprintf("  and %d more; --format csv lists them", n-mostUnread))
	}
}

// siteWidth is the width of the column of sites; a longer name has a line of its own.
const siteWidth = 26

func (w *writer) bySite(r survey.Result) {
	if len(r.Sites) < 2 {
		return
	}
	w.head("By site")
	widths := []int{-siteWidth, 6, 9, 10, 6, 11}
	w.heads([]string{"", "faults", "undecided", "unreadable", "agree", "lost"}, widths)
	for _, p := range r.Sites {
		cell := unknown
		if x, known := p.Lost.Get(); known {
			cell = survey.KW(x)
		}
		c, name := p.Counts, OneLine(p.Site)
		if len([]rune(name)) > siteWidth && !w.Words {
			w.item("  ", name)
			name = ""
		}
		w.row([]string{name, fmt.Sprint(c.Fault), fmt.Sprint(c.Undecided), fmt.Sprint(c.Unreadable),
			fmt.Sprint(c.Agrees), cell}, widths)
	}
}

func (w *writer) balances(all []survey.Balance) {
	for i, b := range all {
		if i == 0 {
			w.head("Balances")
		}
		line := OneLine(b.Main) + ": "
		if d, known := b.Difference.Get(); known {
			line += fmt.Sprintf("%s, the sum of %d below %s; difference %s to %s. ", survey.KW(b.Power.Or(0)), len(b.Below),
				survey.KW(b.Sum.Or(0)), survey.KW(b.Low.Or(d)), survey.KW(b.High.Or(d)))
		}
		w.item("  ", line+OneLine(b.Summary))
	}
}

func (w *writer) against(a *survey.Against) {
	if a == nil {
		return
	}
	w.head("Since " + a.At.Local().Format("2006-01-02 15:04"))
	none := true
	for _, part := range []struct {
		name string
		all  []survey.Change
	}{{"new", a.New}, {"other", a.Other}, {"mended", a.Mended}, {"silent", a.Silent}, {"gone", a.Gone}} {
		for _, c := range part.all {
			none = false
			w.item(fmt.Sprintf("  %-8s", part.name), OneLine(c.Name)+": "+OneLine(cmp.Or(c.Is, c.Was)))
		}
	}
	if none {
		w.line("  nothing changed")
	}
}
