package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"

	"legwork/cmd/legwork/internal/job"
	"legwork/cmd/legwork/internal/record"
	"legwork/cmd/legwork/internal/source"
	"legwork/diagnose"
	"legwork/diagnose/energy"
	"legwork/probe/capture"
	"legwork/probe/reading"
)

// recorded takes the verdict and the readings as found from a job's record: the
// fault as it stood, which the meter no longer shows once it is mended.
func (f *energyFlags) recorded() (energy.Question, error) {
	var none energy.Question
	if f.meter == "" {
		return none, errors.New("--as-found: say which job: `legwork energy JOB.yaml --as-found`, or with --keep JOB.yaml")
	}
	if a, err := source.Parse(f.meter); err != nil || a.Kind != source.Job {
		return none, fmt.Errorf("--as-found is of the record of a job, and %s is no job sheet", f.meter)
	}
	j, log, err := openJob(f.meter)
	if err != nil {
		return none, err
	}
	found := log.First(record.AsFound)
	switch {
	case len(log.Findings) > 0:
		return none, fmt.Errorf("--as-found: %s: %s", j.RecordFile(), log.Findings[0])
	case found == nil:
		return none, fmt.Errorf("--as-found: %s: nothing is recorded as found; `legwork record as-found %s` does it before anything is moved", j.RecordFile(), f.meter)
	}
	by, err := f.known(j)
	if err != nil {
		return none, err
	}
	observed := &energy.Observations{}
	primary := 0.0
	err = eachIn(found.Readings, func(r reading.Reading) {
		observed.Add(r)
		primary = r.CTPrimary.Or(0)
	})
	if by.CTs.Primary == 0 {
		by.CTs.Primary = primary
	}
	q := energy.OfVerdict(*found.Verdict, observed, by)
	q.Conditions += fmt.Sprintf(", as found in entry %d of %s", found.Number, found.At.Format("2006-01-02 15:04"))
	return q, err
}

// eachIn hands on the readings that an entry of a record holds.
func eachIn(lines []json.RawMessage, add func(reading.Reading)) error {
	if len(lines) == 0 {
		return nil // the hash of a long capture stands for them
	}
	kept, err := capture.NewReader("the record", bytes.NewReader(bytes.Join(rawLines(lines), []byte("\n"))))
	for err == nil {
		var r reading.Reading
		if r, err = kept.Next(); err == nil {
			add(r)
		}
	}
	if errors.Is(err, io.EOF) {
		return nil
	}
	return err
}

func rawLines(lines []json.RawMessage) [][]byte {
	var all [][]byte
	for _, l := range lines {
		all = append(all, l)
	}
	return all
}

// hintAsFound names --as-found where the wiring agrees now and the job's record
// holds a fault: the energy that is asked for may be of the time before.
func (a *app) hintAsFound(sheet *job.Job) {
	if sheet == nil {
		return
	}
	log, err := record.At(sheet.RecordFile()).Read()
	if err != nil {
		return // nothing is recorded, or what is can't be read; the estimate doesn't rest on it
	}
	if found := log.First(record.AsFound); found != nil && found.Verdict.Verdict == diagnose.Fault {
		fmt.Fprintf(a.stderr, "note: the wiring agrees now, and entry %d holds a fault as found; --as-found estimates for that\n", found.Number)
	}
}
