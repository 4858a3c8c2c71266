package ledger

import (
	"slices"

	"legwork/probe/sheet"
)

// Version is the version of the file's format.
const Version = 1

// file is a ledger as a person writes it. Its tags are the table of the format
// (sheet.Rule); a table in CSV has the names of visit as its columns.
type file struct {
	Version    int               `sheet:"legwork-ledger" is:"a ledger of reads" need:"1" from:"1" to:"1" doc:"Version."`
	Meter      string            `sheet:"meter" doc:"What people call the meter."`
	Multiplier sheet.Text        `sheet:"multiplier" doc:"Product of the transformer ratios; 1."`
	Digits     sheet.Text        `sheet:"digits" doc:"Digits before the point, of every register."`
	Unit       sheet.Text        `sheet:"unit" doc:"What every register shows: kWh, MWh, Wh, GWh; kWh."`
	Reads      sheet.List[visit] `sheet:"reads" doc:"What was read, in order of time."`
}

// visit is one read. What it says of the multiplier and the digits holds from
// there on: a meter that was replaced may have others.
type visit struct {
	sheet.Node
	At         sheet.Text            `sheet:"at" doc:"When, such as 2026-05-04T09:30:00Z."`
	Multiplier sheet.Text            `sheet:"multiplier" doc:"Product of the transformer ratios from here on."`
	Digits     sheet.Text            `sheet:"digits" doc:"Digits before the point from here on."`
	Unit       sheet.Text            `sheet:"unit" doc:"What the registers show from here on."`
	Struck     sheet.Text            `sheet:"struck" doc:"Why this read doesn't count: it stays, and is left out."`
	Replaced   sheet.Text            `sheet:"replaced" doc:"true at the first read of a new meter."`
	Figures    map[string]sheet.Text `sheet:"kWh kWh.1 kWh.2 kWh.3 kVAh kVAh.1 kVAh.2 kVAh.3" doc:"Registers."`
}

// ParseYAML reads a ledger; the error is a *sheet.Faults with all that is wrong.
func ParseYAML(name string, src []byte) (*Ledger, error) {
	var f file
	k := newKeeper()
	err := sheet.Read(name, src, &f, func(root sheet.Node) {
		k.ledger.Meter = f.Meter
		k.from(f.Multiplier, f.Digits, f.Unit)
		for v := range f.Reads.Each() {
			k.read(&v)
		}
		k.end(root)
	})
	if err != nil {
		return nil, err
	}
	return k.ledger, nil
}

// ParseCSV reads a ledger from a table: a header with `at` and registers such as
// kWh.1, and `multiplier`, `digits`, `unit`, `replaced`, `struck` where wanted; an empty field isn't
// known. The error is a *sheet.Faults with all that is wrong.
func ParseCSV(name string, src []byte) (*Ledger, error) {
	t := sheet.OpenTable(name, src, sheet.Columns{Known: columns(), Such: "at,kWh"})
	lacks := !slices.Contains(t.Names, "at") || !slices.ContainsFunc(t.Names, isRegister)
	if lacks && t.Names != nil {
		t.Root().Fault("the header lacks `at` or a register", "begin with a header such as at,kWh,kWh.1,kWh.2,kWh.3")
	}
	if lacks || t.Err() != nil && t.Rows == nil {
		return nil, t.Err()
	}
	k := newKeeper()
	for _, row := range t.Rows {
		var v visit
		row.Decode(&v)
		k.read(&v)
	}
	k.end(t.Root())
	if err := t.Err(); err != nil {
		return nil, err
	}
	return k.ledger, nil
}

// columns are the names of a visit.
func columns() []string {
	var all []string
	for _, r := range sheet.Rules(visit{}) {
		all = append(all, r.Names...)
	}
	return all
}

func isRegister(name string) bool {
	return slices.ContainsFunc(Registers(), func(r Register) bool { return r.String() == name })
}
