package report

import (
	"fmt"
	"html/template"
	"slices"
	"strings"
	"time"

	"legwork/cmd/legwork/internal/record"
	"legwork/cmd/legwork/internal/screen"
	"legwork/cmd/legwork/internal/sketch"
	"legwork/diagnose"
	"legwork/diagnose/asleft"
	"legwork/probe/reading"
)

// view is a report as both renderings show it: texts, ready to be escaped.
type view struct {
	Title, Site, Panel string
	Made               string
	Facts              []fact
	Findings, Remarks  []string
	Cited              []string // files that prove entries no more
	Found, Left        *taken
	Sketches           []Drawn
	SketchText         string // the same for Markdown
	NotFound           string // after "not": why nothing is shown as found
	Todos              []todo
	DangerHead         string
	Danger             []string // what comes before all else; then nothing is advised
	Compared           []compared
	Against            int    // number of the entry that predicted it; 0 isn't known
	Unpredicted        string // why nothing as left is compared
	Registration       string
	Bills              string // who may act on an amount, where the page has one
	Deeds              []deed
	Reads              []read
	Results            []section
	Limits             []string
	Tests              []string // that would settle most, where the last verdict is open
	Notes              []string // what legwork noticed on the way
	Seals              []sealRow
	Record, LastSeal   string
	Signers            []fact
}

type fact struct{ Name, Value string }

// taken is one reading with its verdict: as found or as left.
type taken struct {
	ID, Name, At   string
	Entry          int
	Verdict, Sign  string
	Summary        string
	Service        string
	Readings       string
	Rows           []Row
	Drawing        template.HTML
	DrawingCaption string
	DataFaults     []string
	Seen           []string
	result         *diagnose.Result
	Files          []string // that the readings are from, with their hashes
}

// Row is one channel.
type Row struct {
	Channel                       int
	Volts, Amps, Watts, Vars, Lag string
	State                         string
	Good                          bool
}

type compared struct {
	Channel                          int
	Predicted, Power, Probability    string
	PredictedLag, Lag, Outcome, Sign string
	Good                             bool
}

// deed is something that a person did or said.
type deed struct {
	Entry    int
	At       string
	What     string
	Words    string
	IsAction bool
}

type read struct {
	At, Name, Text string
	Entry          int
}

type sealRow struct {
	Number         int
	At, Kind, Seal string
}

// when writes a time as people read it, with its zone.
func when(t time.Time) string { return t.Format("2006-01-02 15:04:05 -07:00") }

var verdictSigns = map[diagnose.Verdict]string{diagnose.Agrees: "✓", diagnose.Fault: "✗", diagnose.Undecided: "?"}

func (r *Report) view() *view {
	j := r.Job
	v := &view{Title: shown(j.Title()), Site: shown(j.Site), Panel: shown(j.Panel), Made: when(r.Made),
		Findings: shownAll(r.Log.Findings), Remarks: shownAll(r.Log.Remarks),
		NotFound: notFound(r.Log), Record: shown(r.Record), LastSeal: r.Log.LastSeal()}
	for _, c := range r.Log.Cited {
		if c.Broken() {
			v.Cited = append(v.Cited, shown(c.String()))
		} else {
			v.Remarks = append(v.Remarks, shown(c.String()))
		}
	}
	for i := range r.Log.Entries {
		e := &r.Log.Entries[i]
		by := r.Log.StruckBy(e.Number)
		if by == nil {
			v.take(e, r.Log)
		}
		v.deeds(e, readName(e, r.Log), struckWords(by))
		v.Seals = append(v.Seals, sealRow{e.Number, when(e.At), shown(string(e.Kind)) + struckWords(by), e.Seal})
	}
	v.advise(r.Log)
	v.draw()
	v.Results = resultsOf(r.Log)
	if v.Registration != "" || slices.ContainsFunc(v.Results, func(s section) bool { return s.ID == energyID }) {
		v.Bills = "Only authorised parties may adjust bills."
	}
	v.Facts = r.facts()
	v.Remarks = append(v.Remarks, r.sheetRemark()...)
	v.Signers = []fact{{"Technician", shown(j.People.Technician)}, {"Licensed electrician", shown(j.People.Electrician)},
		{"Witness", shown(j.People.Witness)}}
	return v
}

// draw makes the sketches.
func (v *view) draw() {
	var found, left *diagnose.Result
	if v.Found != nil {
		found = v.Found.result
	}
	if v.Left != nil {
		left = v.Left.result
	}
	all := pictures(found, left)
	v.Sketches, v.SketchText = drawn(all, "sketch"), strings.Join(sketch.Text(all, 80, false), "\n")
}

// take keeps the first reading as found, if it is that, and the last as left.
func (v *view) take(e *record.Sealed, log *record.Log) {
	found, late := log.Found()
	switch {
	case e.Verdict == nil:
	case e == found && late == "":
		v.Found = takenOf(e, "found", "As found")
		v.registration(e.Verdict)
	case e.Kind == record.AsLeft:
		v.Left = takenOf(e, "left", "As left")
		v.compare(e, log)
	}
	if e.Verdict != nil {
		v.Limits = shownAll(e.Verdict.Limits)
		v.Tests = testsOf(e.Verdict)
	}
}

// mostTests are shown.
const mostTests = 3

// testsOf lists what would settle a verdict that is open.
func testsOf(r *diagnose.Result) []string {
	if r.Verdict != diagnose.Undecided {
		return nil
	}
	var all []string
	for _, t := range r.NextTests[:min(mostTests, len(r.NextTests))] {
		all = append(all, shown(t.Ask))
	}
	return all
}

// compare keeps what became of a prediction, or why there is none.
func (v *view) compare(e *record.Sealed, log *record.Log) {
	v.Compared, v.Against, v.Unpredicted = comparedOf(e.Compared), e.Against, ""
	if len(v.Compared) > 0 {
		return
	}
	from, none := log.Predicted(e.Number)
	if from != nil {
		none = fmt.Sprintf("what entry %d predicted wasn't compared when this was recorded", from.Number)
	}
	v.Unpredicted = shown(none)
}

// notFound says, after "not", what a report has in place of the readings as found.
func notFound(log *record.Log) string {
	found, late := log.Found()
	if late == "" {
		return "recorded"
	}
	return shown(fmt.Sprintf("recorded in time. Entry %d, which is called so, isn't the wiring as it was found: %s. "+
		"It reads %s", found.Number, late, strings.ToUpper(string(found.Verdict.Verdict))))
}

// registration is that of a fault as found.
func (v *view) registration(r *diagnose.Result) {
	x := r.Likeliest()
	if best, ok := x.Registration.Get(); ok && r.Verdict == diagnose.Fault {
		v.Registration = fmt.Sprintf("%.3f of the true power at the load that was found, between %.3f and %.3f. "+
			"Over a billing period the load varies, so this is an estimate for that load alone.",
			best, x.RegistrationLow.Or(best), x.RegistrationHigh.Or(best))
	}
}

func takenOf(e *record.Sealed, id, name string) *taken {
	r := e.Verdict
	t := &taken{ID: id, Name: name, result: r, At: when(e.At), Entry: e.Number, Summary: summary(r),
		Verdict: strings.ToUpper(string(r.Verdict)), Sign: verdictSigns[r.Verdict],
		Readings: screen.Count(len(e.Readings), "reading", "readings"),
		Service:  shown(r.Service.Name), Seen: shownAll(e.Seen)}
	for _, f := range e.Files {
		t.Files = append(t.Files, shown(fmt.Sprintf("%s, SHA-256 %s", f.Name, f.SHA256)))
	}
	if len(e.Readings) == 0 && len(e.Files) > 0 {
		t.Readings = "too many readings for one entry; their file is cited by its hash"
	}
	if r.Service.Inferred {
		t.Service += ", inferred from the voltages"
	}
	t.Rows, t.DataFaults = Rows(r), shownAll(screen.FaultWords(r))
	t.Drawing, t.DrawingCaption = drawing(r, id, name)
	return t
}

// Rows are the channels of a result.
func Rows(r *diagnose.Result) (all []Row) {
	for _, c := range r.Channels {
		all = append(all, Row{c.Channel, screen.Plain(c.Voltage, 1), screen.Amount(c.Current, 1),
			screen.Amount(c.Power, 1000), screen.Amount(c.Reactive, 1000), screen.Plain(c.Angle, 1),
			screen.StateWords(r, c), c.State == diagnose.StateAgrees})
	}
	return all
}

// summary is the verdict's sentence, its percentage kept on one line.
func summary(r *diagnose.Result) string {
	return kept(shown(r.Sentence()))
}

// percentOf is a probability in percent, which never reads as certain.
func percentOf(v reading.Value) string {
	if p := v.Or(0); p >= 0.995 {
		return "over 99"
	}
	return screen.Plain(v.Map(func(p float64) float64 { return 100 * p }), 0)
}

func comparedOf(all []record.Compared) []compared {
	var rows []compared
	for _, c := range all {
		sign := map[asleft.Outcome]string{asleft.Met: "✓", asleft.Missed: "✗"}[c.Outcome]
		rows = append(rows, compared{c.Channel, screen.Amount(c.AtLoad, 1000), screen.Amount(c.Power, 1000),
			percentOf(c.Probability), screen.Plain(c.ExpectAngle, 1), screen.Plain(c.Angle, 1),
			screen.OutcomeWords(c.Outcome), sign, c.Outcome == asleft.Met})
	}
	return rows
}

// struckWords mark an entry that another one strikes.
func struckWords(by *record.Sealed) string {
	if by == nil {
		return ""
	}
	return fmt.Sprintf(" (struck by entry %d)", by.Number)
}

// deeds lists what was done, in the order of the record; name is that of readings, struck
// marks an entry that counts no more.
func (v *view) deeds(e *record.Sealed, name, struck string) {
	at := when(e.At)
	add := func(what, words string, action bool) {
		v.Deeds = append(v.Deeds, deed{Entry: e.Number, At: at, What: what + struck, Words: shown(words),
			IsAction: action && struck == ""})
	}
	if e.Strikes != nil {
		add("Struck", fmt.Sprintf("entry %d counts no more: %s", e.Strikes.Number, e.Strikes.Why), false)
	}
	if e.Verdict != nil {
		add(name, strings.ToUpper(string(e.Verdict.Verdict))+": "+summary(e.Verdict), false)
		for _, s := range e.Seen {
			add("Test weighed", s, false)
		}
	}
	if word, sentence := e.Result.Sentence(); word != "" {
		add(resultName(e.Kind), kept(strings.ToUpper(word)+": "+sentence), false)
	}
	for _, m := range e.Moves {
		add("Move", m, true)
	}
	for _, t := range e.Tests {
		add("Test", t, false)
	}
	for _, r := range e.Remarks {
		add("Remark", r, false)
	}
	for _, r := range e.Reads {
		v.Reads = append(v.Reads, read{at, shown(r.Name), shown(r.Text) + struck, e.Number})
	}
	for _, c := range e.Cautions {
		v.Notes = append(v.Notes, fmt.Sprintf("Entry %d: %s", e.Number, shown(c)))
	}
}

// readName is what an entry with readings is called.
func readName(e *record.Sealed, log *record.Log) string {
	if e.Kind == record.AsFound && log.Late(e.Number) != "" {
		return "Read late, called as found"
	}
	return kindWords[e.Kind]
}

var kindWords = map[record.Kind]string{record.AsFound: "Read as found", record.AsLeft: "Read as left",
	record.Note: "Note"}
