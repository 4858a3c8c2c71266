package screen

import (
	"fmt"
	"io"
	"strings"

	"legwork/diagnose/phasetest"
	"legwork/diagnose/wiring"
)

// PhasePaper writes the worksheet of a phase test, to be filled in by hand.
func PhasePaper(out io.Writer, p phasetest.Paper, s Style) error {
	w := &writer{Style: s, out: out}
	w.line(w.paint(bold, "PHASE TEST") + w.plain("  "+p.Service+", "+methodWords[p.Method]))
	w.list("Before anything is touched", "  ! ", p.Cautions)
	w.steps("The test", p.Steps)
	w.line("")
	if p.Method == "dead" {
		w.paperDead(p)
	} else {
		w.paperLive(p)
	}
	w.item("  ", "Be led through it with --ask, type what was read with --reading, or fill in a file written by "+
		"--worksheet FILE.yaml.")
	return w.err
}

// PhaseAsked is what stands before the questions of a phase test.
type PhaseAsked struct {
	Test  phasetest.Test
	File  string // that keeps the answers
	Taken int    // readings that it holds already
}

// PhaseIntro writes it.
func PhaseIntro(out io.Writer, p PhaseAsked, s Style) error {
	w := &writer{Style: s, out: out}
	paper := p.Test.Paper()
	w.line(w.paint(bold, "PHASE TEST") + w.plain("  "+paper.Service+", "+methodWords[paper.Method]))
	w.list("Before anything is touched", "  ! ", paper.Cautions)
	w.line("")
	if p.Taken > 0 {
		w.item("", fmt.Sprintf("It goes on with %s; readings noted there: %d.", p.File, p.Taken))
	}
	w.item("", fmt.Sprintf("Type what the tester shows, or a pair and its value, such as %s. Enter alone puts a reading "+
		"off; stop ends. Each answer is kept in %s at once.", p.Test.Example(), p.File))
	w.line("")
	return w.err
}

// Remark writes a sentence below an answer.
func Remark(out io.Writer, text string, s Style) error {
	w := &writer{Style: s, out: out}
	w.item("  ", text)
	return w.err
}

var methodWords = map[string]string{"live": "live, with a voltmeter", "dead": "dead, by continuity"}

var paperWidths = []int{-7, -15, -22, -17, -8}

// paperLive has a line a reading: what the same leg gives, what another.
func (w *writer) paperLive(p phasetest.Paper) {
	w.heads([]string{"read", "same leg", "another leg", "live tap", "yours"}, paperWidths)
	for _, e := range p.Readings {
		cells := []string{e.Pair, band(e.Same), band(e.Another), nominal(e.Nominal), "______"}
		w.row(cells, paperWidths)
	}
	w.item("  ", "About 0 V for the same leg, line voltage for another: common practice. 10 % either way: IEC 60038.")
}

func band(b *phasetest.Band) string {
	if b == nil {
		return ""
	}
	return b.String()
}

// nominal writes what a live tap reads; of a four-wire delta the high leg's too.
func nominal(all []phasetest.Band) string {
	var words []string
	for _, b := range all {
		words = append(words, fmt.Sprintf("%.0f-%.0f", b.Low, b.High))
	}
	if len(words) == 0 {
		return ""
	}
	return strings.Join(words, ", ") + " V"
}

func (w *writer) paperDead(p phasetest.Paper) {
	widths := []int{-7, -34, -9}
	w.heads([]string{"read", "should show", "yours"}, widths)
	for _, e := range p.Readings {
		want := "open: nothing joins the legs"
		if e.Pole != nil {
			want = "closed: same leg; open: another"
		}
		w.row([]string{e.Pair, want, "______"}, widths)
	}
}

// PhaseTest writes the outcome of a phase test.
func PhaseTest(out io.Writer, r phasetest.Result, s Style) error {
	w := &writer{Style: s, out: out}
	w.phaseVerdict(r)
	if len(r.Danger) > 0 {
		w.steps(KeepAwayHead, r.Danger)
		return w.err
	}
	w.poles(r)
	w.misfits(r)
	w.explained(r)
	w.list("About these readings", "  - ", r.Notes)
	w.list("Before anything is touched", "  ! ", r.Cautions)
	w.nextReading(r)
	w.steps("What to move", r.Moves)
	w.places(r)
	w.evidence("For the diagnosis", r.Findings)
	return w.err
}

func (w *writer) phaseVerdict(r phasetest.Result) {
	w.verdictLine(wordOf(r.Verdict), r.Summary)
	text := "Service " + r.Service + ", " + methodWords[r.Method]
	if r.HighLeg != nil {
		text += ", high leg " + *r.HighLeg
	}
	w.line(w.plain(text))
}

// poles is the table of where each pole is, or may be.
func (w *writer) poles(r phasetest.Result) {
	widths := []int{6, -30, -20}
	w.line("")
	w.heads([]string{"pole", "on", "tap"}, widths)
	for _, p := range r.Poles {
		tap := ""
		if p.Live != nil && *p.Live {
			tap = "live"
		} else if p.Volts != nil {
			tap = fmt.Sprintf("%.0f V, not nominal", *p.Volts)
		} else if p.Live != nil {
			tap = "not at nominal"
		} else if r.Method == "live" {
			tap = "not read"
		}
		w.row([]string{fmt.Sprint(p.Pole), polePlace(p), tap}, widths)
	}
}

func polePlace(p phasetest.PoleJudged) string {
	if p.On != nil {
		return *p.On
	}
	if len(p.Possible) == 1 {
		return p.Possible[0] + ", provisionally"
	}
	if p.Likely != nil {
		return *p.Likely + ", to be read again"
	}
	return "open: " + strings.Join(p.Possible, ", ")
}

// misfits lists the readings that not everything explains.
func (w *writer) misfits(r phasetest.Result) {
	var all []string
	for _, one := range r.Readings {
		if one.Use != phasetest.Fits {
			all = append(all, fmt.Sprintf("%s %s: %s", one.Pair, shownValue(one), one.Why))
		}
	}
	w.list("Readings in doubt", "  - ", all)
}

func shownValue(r phasetest.ReadingRead) string {
	switch {
	case r.Volts != nil:
		return fmt.Sprintf("%.4g V", *r.Volts)
	case r.Said != "":
		return r.Said
	case r.Closed != nil && *r.Closed:
		return "closed"
	}
	return "open"
}

// mostExplained are shown; with more, the table of poles says it shorter.
const mostExplained = 6

// explained lists what is left open, with the readings that would be wrong.
func (w *writer) explained(r phasetest.Result) {
	n := len(r.Explanations)
	if r.Verdict != wiring.Undecided || n < 2 && !r.Contradicting || n > mostExplained {
		return
	}
	var all []string
	for _, x := range r.Explanations {
		text := x.Words
		if len(x.Wrong) > 0 {
			text += ", with " + strings.Join(x.Wrong, " and ") + " wrong"
		}
		all = append(all, text)
	}
	w.list("What the readings may mean", "  - ", all)
}

// nextReading asks for the reading that separates most, and says what each
// outcome would leave.
func (w *writer) nextReading(r phasetest.Result) {
	if r.Next == nil {
		return
	}
	title := "The reading that would settle most"
	if r.Next.Settles {
		title = "The reading that would settle it"
	}
	w.head(title)
	w.item("  ", r.Next.Ask)
	for _, o := range r.Next.Outcomes {
		w.item("    ", outcomeWords(o))
	}
	if len(r.Missing) > 0 {
		w.item("  ", "Not read yet: "+strings.Join(r.Missing, ", "))
	}
}

// outcomeWords says what a reading would point to; another reading proves it
// where one that was wrong would mislead.
func outcomeWords(o phasetest.Outcome) string {
	text := o.Reads
	if len(o.Likeliest) > 0 {
		text += ": points to " + strings.Join(o.Likeliest, " or ")
	}
	if o.Settles {
		return text + "; settled"
	}
	if len(o.Leaves) > len(o.Likeliest) {
		text += "; if one reading is wrong, " + strings.Join(o.Leaves, ", ")
	}
	return text
}

// places is the table of CTs.
func (w *writer) places(r phasetest.Result) {
	if len(r.CTs) == 0 {
		return
	}
	title := "Where the CTs go"
	if len(r.Moves) > 0 {
		title += ", once that is done"
	}
	w.head(title)
	widths := []int{7, -4, -18, -42}
	w.heads([]string{"channel", "leg", "colour", "arrow"}, widths)
	for _, c := range r.CTs {
		colour := unknown
		if c.Colour != nil {
			colour = *c.Colour
		}
		w.row([]string{fmt.Sprint(c.Channel), c.Leg, colour, c.Arrow}, widths)
	}
	w.item("  ", r.CTs[0].Marks+" (common practice). Local code rules colours; they are a hint, never proof of a leg.")
}
