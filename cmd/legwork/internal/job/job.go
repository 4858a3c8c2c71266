package job

import (
	"cmp"
	"fmt"
	"path/filepath"
	"strings"

	"legwork/cmd/legwork/internal/source"
	"legwork/diagnose"
	"legwork/probe/sheet"
)

// Version is the version of the file's format.
const Version = 1

// Metered is what the meter measures, which says which way the arrows of its
// CTs point.
type Metered string

// What can be metered. Arrows: common practice, no source.
const (
	Mains  Metered = "mains"  // arrows point into the panel, with the current
	Branch Metered = "branch" // arrows point away from the breaker, towards the load
)

// Arrow says in a few words which way the arrows of the CTs point.
func (m Metered) Arrow() string {
	switch m {
	case Mains:
		return "into the panel, with the current"
	case Branch:
		return "away from the breaker, towards the load"
	}
	return ""
}

// Job is a sheet as it was read. A text that wasn't filled in is empty.
type Job struct {
	File         string // as it was named
	Site         string
	Panel        string
	Metered      Metered
	Service      string         // a name that wiring.ParseService knows, or empty
	Meter        source.Address // its Kind is 0 where the sheet names none
	Map          string         // file, as it is found from where the command runs, or sunspec
	CTs          CTs
	Legs         []Conductor         // in the order of the sheet, the blank ones left out
	Breaker      string              // the breaker or fuses of the reference voltage
	Generation   diagnose.Generation // empty where nothing is said
	Load         []diagnose.LoadSort // behind the meter
	MinCurrent   float64             // A; 0 where it isn't given
	People       People
	Remarks      string
	Seen         []diagnose.Finding // what tests showed before anything was moved
	SeenTexts    []string           // the same as they were written
	meterWritten string
	noMeter      sheet.Fault // where the sheet should name its meter
}

// CTs are the current transformers of the job.
type CTs struct {
	Output    Output
	Secondary string  // rated, as it was written: "5 A", "333 mV"
	Primary   float64 // rated, A; 0 where it isn't given
}

// Output is what a CT's secondary puts out.
type Output string

// The outputs. A CT that isn't known counts as CurrentOutput, the dangerous one.
const (
	CurrentOutput Output = "current" // its open secondary is dangerous
	VoltageOutput Output = "voltage" // with a burden built in
)

// Conductor is one line of the table of colours.
type Conductor struct {
	Name   string // 1, 2, 3, neutral, earth
	Colour string
}

// People are those who sign.
type People struct {
	Technician  string `sheet:"technician" doc:"Who metered."`
	Electrician string `sheet:"electrician" doc:"Who worked in the panel."`
	Witness     string `sheet:"witness" doc:"Who looked on."`
}

// Title names the job: its site, or the sheet's file.
func (j *Job) Title() string {
	if j.Site != "" {
		return j.Site
	}
	return strings.TrimSuffix(filepath.Base(j.File), filepath.Ext(j.File))
}

// VoltageOutput reports CTs that are declared to put out a voltage.
func (j *Job) VoltageOutput() bool { return j.CTs.Output == VoltageOutput }

// RecordFile is where the record of the job stands: beside the sheet.
func (j *Job) RecordFile() string { return RecordFile(j.File) }

// RecordFile is the record that belongs to a sheet's file.
func RecordFile(sheet string) string {
	return strings.TrimSuffix(sheet, filepath.Ext(sheet)) + ".record.jsonl"
}

// Named is the METER as the sheet has it.
func (j *Job) Named() string { return j.meterWritten }

// beside finds a file that a sheet names: its path counts from the sheet. A
// meter that describes itself needs none.
func (j *Job) beside(name string) string {
	if filepath.IsAbs(name) || name == source.SunSpecMap {
		return name
	}
	return filepath.Join(filepath.Dir(j.File), filepath.FromSlash(name))
}

// String is the job in one line.
func (j *Job) String() string {
	parts := []string{}
	for _, p := range []string{j.Site, j.Panel, j.Service, j.meterWritten} {
		if p != "" {
			parts = append(parts, p)
		}
	}
	return fmt.Sprintf("%s: %s", j.File, cmp.Or(strings.Join(parts, ", "), "blank"))
}
