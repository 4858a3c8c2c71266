package report

import (
	"fmt"
	"strings"

	"legwork/cmd/legwork/internal/job"
	"legwork/cmd/legwork/internal/record"
	"legwork/cmd/legwork/internal/screen"
	"legwork/diagnose"
)

// shown keeps a text from looking like something else.
func shown(s string) string { return screen.Word(s) }

func shownAll(all []string) []string {
	var out []string
	for _, s := range all {
		out = append(out, shown(s))
	}
	return out
}

// facts lists what the sheet and the meter say, the blank ones left out.
func (r *Report) facts() []fact {
	j := r.Job
	all := []fact{{"Metered", metered(j)}, {"Service", r.service()}, {"Current transformers", cts(j)},
		{"Conductors", legs(j)}, {"Reference voltage", j.Breaker}, {"Generation", generation(j)}, {"Meter", j.Named()}}
	all = append(all, meterFacts(r.Log)...)
	all = append(all, fact{"Remarks", j.Remarks})
	var out []fact
	for _, f := range all {
		if f.Value != "" {
			out = append(out, fact{f.Name, shown(f.Value)})
		}
	}
	return out
}

// service is that of the sheet, and of readings that were judged by another one.
func (r *Report) service() string {
	said := r.Job.Service
	for i := range r.Log.Entries {
		e := &r.Log.Entries[i]
		if e.Verdict == nil || said == "" || e.Verdict.Service.Name == said || !r.Log.Counts(e) {
			continue
		}
		why := ""
		if e.Sheet != nil && e.Sheet.SHA256 != r.Sheet {
			why = ", which was changed since"
		}
		return fmt.Sprintf("%s by the job sheet%s; entry %d was judged by %s", said, why, e.Number, e.Verdict.Service.Name)
	}
	return said
}

func metered(j *job.Job) string {
	if j.Metered == "" {
		return ""
	}
	return fmt.Sprintf("%s; CT arrows %s", j.Metered, j.Metered.Arrow())
}

func cts(j *job.Job) string {
	var parts []string
	if j.CTs.Primary > 0 {
		parts = append(parts, fmt.Sprintf("%g A primary", j.CTs.Primary))
	}
	if j.CTs.Secondary != "" {
		parts = append(parts, j.CTs.Secondary+" secondary")
	}
	switch j.CTs.Output {
	case job.CurrentOutput:
		parts = append(parts, "current output: dangerous when open under load")
	case job.VoltageOutput:
		parts = append(parts, "voltage output")
	}
	return strings.Join(parts, ", ")
}

func legs(j *job.Job) string {
	var parts []string
	for _, l := range j.Legs {
		name := l.Name
		if len(name) == 1 {
			name = "leg " + name
		}
		parts = append(parts, name+" "+l.Colour)
	}
	if parts == nil {
		return ""
	}
	return strings.Join(parts, ", ") + " (from the job sheet; a colour never proves a leg)"
}

func generation(j *job.Job) string {
	switch j.Generation {
	case diagnose.GenerationPossible:
		return "possible: power may flow back to the supply"
	case diagnose.GenerationNone:
		return "none declared"
	}
	return "not stated"
}

// meterFacts is what the meter told of itself at the last reading.
func meterFacts(log *record.Log) []fact {
	e := log.Last(record.AsFound, record.AsLeft)
	if e == nil {
		return nil
	}
	var all []fact
	if m := e.Meter; m != nil {
		all = append(all, fact{"Serial number", m.Serial}, fact{"Model", m.Model},
			fact{"Device identification", strings.Trim(strings.Join([]string{m.Vendor, m.Product, m.Revision}, ", "), ", ")})
	}
	if m := e.Map; m != nil {
		all = append(all, fact{"Register map", fmt.Sprintf("%s, SHA-256 %s", m.Name, m.SHA256)})
	}
	return all
}

// sheetRemark names a sheet that isn't the one of the last entry.
func (r *Report) sheetRemark() []string {
	if n := len(r.Log.Entries); n > 0 && r.Sheet != "" {
		if e := r.Log.Entries[n-1]; e.Sheet != nil && e.Sheet.SHA256 != r.Sheet {
			return []string{"the job sheet was changed after the last entry of the record; what this report takes from it " +
				"may be newer than the readings"}
		}
	}
	return nil
}
