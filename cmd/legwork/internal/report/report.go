package report

import (
	"bytes"
	"encoding/json"
	"io"
	"time"

	"legwork/cmd/legwork/internal/job"
	"legwork/cmd/legwork/internal/record"
	"legwork/diagnose"
)

// Report is a job and its record.
type Report struct {
	Job    *job.Job
	Record string // file of the record
	Log    *record.Log
	Made   time.Time
	Sheet  string // SHA-256 of the sheet as it is now, in hexadecimal
}

// Is says by how a file begins whether it is a report of any of the forms.
func Is(begins []byte) bool {
	first, _, _ := bytes.Cut(begins, []byte("\n"))
	return bytes.Contains(begins, []byte(`<meta name="generator" content="legwork">`)) ||
		bytes.HasPrefix(first, []byte("# ")) && bytes.HasSuffix(bytes.TrimSpace(first), []byte(": metering job report")) ||
		bytes.HasPrefix(first, []byte(`{"legwork":`)) && bytes.Contains(first[:min(len(first), 40)], []byte(`,"made":"`))
}

// jsonReport is the shape of the JSON; it may grow, its fields keep their meaning.
type jsonReport struct {
	Legwork int       `json:"legwork"`
	Made    time.Time `json:"made"`
	Job     jsonJob   `json:"job"`
	Record  string    `json:"record"`
	record.Shown
}

// jsonJob is the sheet; what it leaves blank is null.
type jsonJob struct {
	Site        *string           `json:"site"`
	Panel       *string           `json:"panel"`
	Metered     *string           `json:"metered"`
	Service     *string           `json:"service"`
	Meter       *string           `json:"meter"`
	CTOutput    *string           `json:"ct_output"`
	CTSecondary *string           `json:"ct_secondary"`
	CTPrimary   *float64          `json:"ct_primary"` // A
	Legs        map[string]string `json:"legs"`
	Breaker     *string           `json:"reference_breaker"`
	Generation  bool              `json:"generation_possible"`
	Declared    string            `json:"generation,omitempty"`
	MinCurrent  *float64          `json:"min_current"` // A
	Technician  *string           `json:"technician"`
	Electrician *string           `json:"electrician"`
	Witness     *string           `json:"witness"`
	Remarks     *string           `json:"remarks"`
	Seen        []string          `json:"seen"`
}

// JSON writes the report for programs.
func (r *Report) JSON(w io.Writer) error {
	return json.NewEncoder(w).Encode(jsonReport{diagnose.ResultVersion, r.Made, jobOf(r.Job), r.Record,
		r.Log.ShownWhole()})
}

func jobOf(j *job.Job) jsonJob {
	out := jsonJob{Site: given(j.Site), Panel: given(j.Panel), Metered: given(string(j.Metered)),
		Service: given(j.Service), Meter: given(j.Named()), CTOutput: given(string(j.CTs.Output)),
		CTSecondary: given(j.CTs.Secondary), CTPrimary: given(j.CTs.Primary), Legs: map[string]string{},
		Breaker: given(j.Breaker), Generation: j.Generation == diagnose.GenerationPossible, Declared: string(j.Generation), MinCurrent: given(j.MinCurrent),
		Technician: given(j.People.Technician), Electrician: given(j.People.Electrician),
		Witness: given(j.People.Witness), Remarks: given(j.Remarks), Seen: append([]string{}, j.SeenTexts...)}
	for _, l := range j.Legs {
		out.Legs[l.Name] = l.Colour
	}
	return out
}

// given is nil for what was left blank.
func given[T comparable](x T) *T {
	var blank T
	if x == blank {
		return nil
	}
	return &x
}
