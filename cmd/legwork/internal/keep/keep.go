package keep

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"os"

	"legwork/cmd/legwork/internal/job"
	"legwork/cmd/legwork/internal/record"
	"legwork/cmd/legwork/internal/source"
)

// Keeper is an entry on its way into a job's record. A nil one keeps nothing.
type Keeper struct {
	Job    *job.Job
	Before *record.Log
	Typed  []record.Typed // the flags that the command was given
	Wait   record.Wait    // for a record that another program holds

	files []record.File
	meter *meter // nil while no meter was opened
}

// Open loads a sheet and its record, which may be empty.
func Open(sheet string, w record.Wait) (*job.Job, *record.Log, error) {
	j, err := job.Load(sheet)
	if err != nil {
		return nil, nil, err
	}
	log, err := record.At(j.RecordFile()).Waiting(w).Read()
	if errors.Is(err, record.ErrNone) {
		return j, &record.Log{}, nil
	}
	return j, log, err
}

// Begin begins an entry in the record of a job sheet. A record that was changed
// is refused here already: what a person is about to do couldn't be kept.
func Begin(sheet string, w record.Wait) (*Keeper, error) {
	j, before, err := Open(sheet, w)
	if err != nil {
		return nil, err
	}
	if len(before.Findings) > 0 {
		return nil, fmt.Errorf("%s: %w", j.RecordFile(), record.Changed{Finding: before.Findings[0]})
	}
	return &Keeper{Job: j, Before: before, Wait: w}, nil
}

// Sheet is the job's, or nil.
func (k *Keeper) Sheet() *job.Job {
	if k == nil {
		return nil
	}
	return k.Job
}

// ServiceOr is a service that was said, or else the sheet's.
func (k *Keeper) ServiceOr(said string) string {
	if k != nil && said == "" {
		return k.Job.Service
	}
	return said
}

// File notes a file that the result is from.
func (k *Keeper) File(name string, src []byte) {
	if k != nil {
		k.files = append(k.files, record.File{Name: name, SHA256: record.Seal(src), Bytes: int64(len(src))})
	}
}

// Capture notes the file of a capture that the result is from, if there is one.
func (k *Keeper) Capture(a source.Address) error {
	if k == nil || !isFile(a) {
		return nil
	}
	f, err := os.Open(a.Name)
	if err != nil {
		return err
	}
	defer f.Close()
	sum := sha256.New()
	n, err := io.Copy(sum, f)
	if err != nil {
		return err
	}
	k.files = append(k.files, record.File{Name: a.Name, SHA256: hex.EncodeToString(sum.Sum(nil)), Bytes: n})
	return nil
}

func isFile(a source.Address) bool { return a.Kind == source.Capture && a.Name != "-" }

// Kept says what became of an entry; the zero value is that of a nil Keeper.
type Kept struct {
	File string // of the record; empty where nothing was to be kept
	record.Appended
	Cautions []string
	Err      error
}

// Add appends the entry: e, and what is known of where it is from.
func (k *Keeper) Add(ctx context.Context, e record.Entry) Kept {
	if k == nil {
		return Kept{}
	}
	e.Typed, e.Files = k.Typed, k.files
	if k.meter != nil {
		k.meter.fill(ctx, &e, k.Job)
	}
	e.Cautions = append(e.Cautions, cautions(&e, k.Before)...)
	out := Kept{File: k.Job.RecordFile(), Cautions: e.Cautions}
	if out.Err = stamp(&e, k.Job); out.Err == nil {
		out.Appended, out.Err = record.At(out.File).Waiting(k.Wait).Append(e)
	}
	return out
}

// stamp says where, by whom and by which sheet.
func stamp(e *record.Entry, j *job.Job) error {
	e.Site, e.Panel, e.By = j.Site, j.Panel, j.People.Technician
	src, err := os.ReadFile(j.File)
	e.Sheet = &record.File{Name: j.File, SHA256: record.Seal(src)}
	return err
}

// cautions tell what differs from the entries before.
func cautions(e *record.Entry, before *record.Log) []string {
	var all []string
	late := before.Late(before.Next())
	switch {
	case e.Kind == record.AsFound && late != "":
		all = append(all, "what is read now isn't the wiring as it was found: "+late)
	case e.Kind == record.AsLeft && late == "" && before.First(record.AsFound) == nil:
		all = append(all, "nothing is recorded as found, and no move: where nothing was moved yet, this is the wiring as "+
			"found; strike this entry, and say `legwork record as-found`")
	}
	if text := otherCT(e, before); text != "" {
		all = append(all, text)
	}
	last := before.Last(record.AsFound, record.AsLeft)
	if last == nil {
		return all
	}
	if was, is := last.Meter, e.Meter; was != nil && is != nil && was.Serial != is.Serial {
		all = append(all, fmt.Sprintf("another meter answered: serial %q, where entry %d has %q",
			is.Serial, last.Number, was.Serial))
	}
	if was, is := last.Map, e.Map; was != nil && is != nil && was.SHA256 != is.SHA256 {
		all = append(all, fmt.Sprintf("the register map is another one than that of entry %d", last.Number))
	}
	return all
}
