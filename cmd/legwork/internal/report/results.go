package report

import (
	"fmt"
	"slices"
	"strings"

	"legwork/cmd/legwork/internal/record"
	"legwork/cmd/legwork/internal/screen"
	"legwork/probe/reading"
)

// section is all results of one command, in the order of the record.
type section struct {
	ID, Name string
	Lead     string // what holds for all of them
	Items    []item
}

// item is one result.
type item struct {
	Entry                  int
	At                     string
	Verdict, Sign, Summary string
	Facts                  []fact
	Tables                 []table
	Cautions, Steps        []string // the steps only below their cautions
	Notes                  []string
}

// table is a table whose first column heads its rows.
type table struct {
	Caption string
	Heads   []column
	Rows    [][]string
}

// column is the head of a column of numbers, or of words.
type column struct {
	Name  string
	Words bool
}

// energyID is the section of the amounts that a bill may follow.
const energyID = "energy"

// sections are what a record may hold beside verdicts, in the order in which
// a page shows them.
var sections = []struct {
	kind     record.Kind
	id, name string
	lead     string
}{
	{record.OfPhaseTest, "phase-test", "Phase test", ""},
	{record.OfLoadStep, "load-step", "Load step", ""},
	{record.OfClamp, "clamp", "Clamp beside meter", ""},
	{record.OfPulses, "pulses", "Pulse light beside power", ""},
	{record.OfLedger, "ledger", "Register reads", ""},
	{record.OfEnergy, energyID, "Energy",
		"An estimate with its interval, under the conditions given with it. It is not a measurement of what was used."},
}

// resultsOf gathers the results of a record.
func resultsOf(log *record.Log) []section {
	var all []section
	for _, s := range sections {
		var items []item
		for i := range log.Entries {
			if e := &log.Entries[i]; e.Kind == s.kind && e.Result != nil {
				one := itemOf(e)
				if by := log.StruckBy(e.Number); by != nil {
					one.Cautions = append([]string{shown(fmt.Sprintf("This entry counts no more: %s (struck by entry %d)",
						by.Strikes.Why, by.Number))}, one.Cautions...)
				}
				items = append(items, one)
			}
		}
		if items != nil {
			all = append(all, section{s.id, s.name, s.lead, items})
		}
	}
	return all
}

func resultName(k record.Kind) string {
	for _, s := range sections {
		if s.kind == k {
			return s.name
		}
	}
	return shown(string(k))
}

func itemOf(e *record.Sealed) item {
	word, sentence := e.Result.Sentence()
	it := item{Entry: e.Number, At: when(e.At), Verdict: shown(strings.ToUpper(word)), Sign: signOf(word),
		Summary: kept(shown(sentence))}
	r := e.Result
	switch {
	case r.PhaseTest != nil:
		it.phaseTest(r.PhaseTest)
	case r.Clamp != nil:
		it.clamp(r.Clamp)
	case r.Pulses != nil:
		it.pulses(r.Pulses)
	case r.Ledger != nil:
		it.ledger(r.Ledger)
	case r.Energy != nil:
		it.energy(r.Energy)
	case r.LoadStep != nil:
		it.loadStep(r.LoadStep)
	}
	it.fact("Given", strings.Join(screen.TypedWords("", e.Typed), "; ")) // a line would be broken at dashes
	for _, f := range e.Files {
		it.fact("File", fmt.Sprintf("%s, SHA-256 %s", f.Name, f.SHA256))
	}
	if len(e.Readings) > 0 {
		it.fact("Readings", screen.Count(len(e.Readings), "reading", "readings")+" in the record")
	}
	return it
}

func signOf(word string) string { return map[string]string{"agrees": "✓", "fault": "✗"}[word] }

// kept keeps a percentage on one line.
func kept(s string) string { return strings.ReplaceAll(s, " %", "\u00a0%") }

// fact adds what isn't blank.
func (it *item) fact(name, value string) {
	if value != "" {
		it.Facts = append(it.Facts, fact{name, shown(value)})
	}
}

// words are columns of words, numbers those of numbers.
func words(names ...string) []column   { return columns(true, names) }
func numbers(names ...string) []column { return columns(false, names) }

func columns(words bool, names []string) []column {
	var all []column
	for _, name := range names {
		all = append(all, column{name, words})
	}
	return all
}

// table adds a table with a caption; one without rows is left out.
func (it *item) table(caption string, rows [][]string, heads ...[]column) {
	if len(rows) == 0 {
		return
	}
	t := table{Caption: fmt.Sprintf("%s, entry %d", caption, it.Entry), Heads: slices.Concat(heads...)}
	for _, row := range rows {
		t.Rows = append(t.Rows, shownAll(row))
	}
	it.Tables = append(it.Tables, t)
}

// notes adds what was assumed.
func (it *item) notes(all []string) { it.Notes = append(it.Notes, shownAll(all)...) }

// span writes an interval.
func span(low, high reading.Value, decimals int) string {
	return screen.Plain(low, decimals) + " to " + screen.Plain(high, decimals)
}

func (it *item) loadStep(r *record.LoadStep) {
	row := []string{fmt.Sprint(r.Leg), strings.Trim(fmt.Sprint(r.Channels), "[]"), amount(r.Current, 1),
		amount(r.Power, 1000)}
	it.fact(fmt.Sprintf("If it was on leg %d for certain", r.Leg), strings.Join(r.IfCertain, "; "))
	it.table("A load came on", [][]string{row}, words("Leg"), numbers("Channels", "Change A", "Change kW"))
}

// amount writes what may not be known.
func amount(x *float64, unit float64) string {
	if x == nil {
		return screen.Figures(0, false)
	}
	return screen.Figures(*x/unit, true)
}
