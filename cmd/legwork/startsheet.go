package main

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"legwork/cmd/legwork/internal/files"
	"legwork/cmd/legwork/internal/job"
	"legwork/cmd/legwork/internal/source"
)

// newSheet is a job sheet that this session wrote: as long as nobody else has
// changed it, it may be written anew.
type newSheet struct {
	job.BlankOptions
	as []byte // as it was written
}

// open takes a file for the job sheet: one that is there is read and gone on
// with, else it will be new.
func (s *starting) open(name string) error {
	if ext := strings.ToLower(filepath.Ext(name)); ext != ".yaml" && ext != ".yml" {
		return fmt.Errorf("%s: the name of a job sheet ends in .yaml", name)
	}
	if _, err := os.Lstat(name); errors.Is(err, fs.ErrNotExist) {
		s.sheet, s.new = name, &newSheet{BlankOptions: job.BlankOptions{Region: s.region}}
		return nil
	}
	j, err := job.Load(name)
	if err != nil {
		return err
	}
	s.sheet, s.j = name, j
	return nil
}

// put writes what is known into the sheet. One that a person wrote, or changed
// meanwhile, is added to and no more.
func (s *starting) put(v job.Value) error {
	if err := s.write(v); err != nil {
		return err
	}
	j, err := job.Load(s.sheet)
	if err != nil {
		return err
	}
	s.j = j
	return nil
}

func (s *starting) write(v job.Value) error {
	if s.new == nil {
		return fillSheet(s.sheet, v)
	}
	switch v.Name {
	case "meter":
		s.new.Meter = v.Text
	case "map":
		s.new.Map = v.Text
	case "service":
		s.new.Service = v.Text
	case "generation":
		s.new.Generation = v.Text
	}
	out, err := job.Blank(s.new.BlankOptions)
	if err != nil {
		return err
	}
	to := files.Output{Name: s.sheet, Kind: "the job sheet that it was a moment ago"}
	if s.new.as == nil {
		err = jobFormat.write(to, out)
	} else if now, e := job.Source(s.sheet); e != nil || !bytes.Equal(now, s.new.as) {
		s.new = nil // it is someone else's by now
		return fillSheet(s.sheet, v)
	} else {
		as := s.new.as
		to.Own = func(begins []byte) bool { return bytes.HasPrefix(as, begins) }
		err = jobFormat.write(to, out)
	}
	s.new.as = jobFormat.withPointer(out)
	return err
}

// fromSheet is the path of a file as the sheet names it.
func (s *starting) fromSheet(name string) string {
	if name == source.SunSpecMap || filepath.IsAbs(name) {
		return name
	}
	if rel, err := filepath.Rel(filepath.Dir(s.sheet), name); err == nil {
		return filepath.ToSlash(rel)
	}
	return name
}

// begunSheets are the job sheets of a folder of which the meter, the map or the
// service is still to be found.
func begunSheets(folder string) []string {
	var begun []string
	for _, name := range jobSheets(folder) {
		j, err := job.Load(filepath.Join(folder, name))
		if err == nil && (j.Meter.Kind == 0 || j.Meter.Short() || j.Map == "" && j.Meter.OnWire() || j.Service == "") {
			begun = append(begun, name)
		}
	}
	return begun
}
