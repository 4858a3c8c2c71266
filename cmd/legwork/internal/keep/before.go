package keep

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"legwork/cmd/legwork/internal/job"
	"legwork/cmd/legwork/internal/record"
	"legwork/diagnose/ledger"
	"legwork/probe/capture"
	"legwork/probe/reading"
)

// Tests lists the results of tests that hold for the wiring as it is now: those
// of the sheet and of its record, or where something was moved only those noted
// after that.
func Tests(j *job.Job, w record.Wait) ([]string, error) {
	log, err := record.At(j.RecordFile()).Waiting(w).Read()
	if errors.Is(err, record.ErrNone) {
		return j.SeenTexts, nil
	}
	if err != nil {
		return nil, err
	}
	tests, moved := log.TestsSinceMove()
	if moved {
		return tests, nil
	}
	return slices.Concat(j.SeenTexts, tests), nil
}

// Readings hands on the readings that an entry holds; none of a long capture,
// for which the hash of its file stands.
func Readings(e *record.Entry, add func(reading.Reading)) error {
	if len(e.Readings) == 0 {
		return nil
	}
	var all bytes.Buffer
	for _, l := range e.Readings {
		all.Write(append(slices.Clone(l), '\n'))
	}
	capture, err := capture.NewReader("the record", &all)
	for err == nil {
		var r reading.Reading
		if r, err = capture.Next(); err == nil {
			add(r)
		}
	}
	if errors.Is(err, io.EOF) {
		return nil
	}
	return err
}

// Ledger makes a ledger of what was read by hand at a job, and names what
// doesn't count in it.
func Ledger(sheet string) (*ledger.Ledger, []string, error) {
	j, log, err := Open(sheet, record.Wait{})
	if err != nil {
		return nil, nil, err
	}
	if len(log.Findings) > 0 {
		return nil, nil, fmt.Errorf("%s: %s", j.RecordFile(), log.Findings[0])
	}
	var all []ledger.Noted
	var struck []string
	for i := range log.Entries {
		e := &log.Entries[i]
		if by := log.StruckBy(e.Number); by != nil && len(e.Reads) > 0 {
			struck = append(struck, fmt.Sprintf("the reads of entry %d are struck: %s", e.Number, by.Strikes.Why))
			continue
		}
		for _, r := range e.Reads {
			value := r.Text[strings.LastIndex(r.Text, ":")+1:]
			if r.Unit == "Wh" || r.Unit == "VAh" {
				all = append(all, ledger.Noted{At: e.At, Name: r.Name, Value: strings.TrimSpace(value), Line: e.Number})
			}
		}
	}
	if len(all) == 0 {
		return nil, nil, fmt.Errorf("%s: no register was read by hand; note one with "+
			"`legwork record note %s --read \"import: 12345.6 kWh\"`", j.RecordFile(), sheet)
	}
	l, left := ledger.FromNoted(j.Title(), all)
	l.Struck = struck
	return l, append(left, "reads noted in the record are taken with a multiplier of 1; "+
		"a ledger FILE says another one, and where a register rolls over"), nil
}
