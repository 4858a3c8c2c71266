package main

import (
	"bytes"
	"fmt"

	"legwork/cmd/legwork/internal/files"
	"legwork/cmd/legwork/internal/job"
	"legwork/cmd/legwork/internal/screen"
	"legwork/cmd/legwork/internal/source"
)

// mayGoInto refuses, before anything is asked, a sheet that can't be written into.
func mayGoInto(sheet string) error {
	if sheet == "" {
		return nil
	}
	src, err := job.Source(sheet)
	if err == nil {
		err = job.Fillable(sheet, src)
	}
	return err
}

// goesInto writes a meter into a job sheet, and a map where the meter brings its
// own and the sheet names none.
func (a *app) goesInto(sheet string, m screen.FoundMeter) error {
	meter := m.Way.Meter(m.Unit)
	err := fillSheet(sheet, job.Value{Name: "meter", Text: meter})
	if err != nil {
		return fmt.Errorf("--into %w", err)
	}
	fmt.Fprintf(a.stderr, "%s: meter: %s\n", sheet, meter)
	if j, err := job.Load(sheet); err != nil || !m.SunSpec || j.Map != "" {
		return nil
	}
	if err := fillSheet(sheet, job.Value{Name: "map", Text: source.SunSpecMap}); err != nil {
		return fmt.Errorf("--into %w", err)
	}
	fmt.Fprintf(a.stderr, "%s: map: %s\n", sheet, source.SunSpecMap)
	return nil
}

// fillSheet writes values into a job sheet that a person wrote; it leaves all
// else in it as it is.
func fillSheet(sheet string, values ...job.Value) error {
	src, err := job.Source(sheet)
	if err != nil {
		return err
	}
	out, err := job.Fill(sheet, src, values...)
	if err != nil || bytes.Equal(out, src) {
		return err
	}
	unchanged := func(begins []byte) bool { return bytes.HasPrefix(src, begins) }
	return files.Output{Name: sheet, Kind: "the job sheet that it was a moment ago", Own: unchanged}.Write(out)
}
