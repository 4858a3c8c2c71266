package sites

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"legwork/cmd/legwork/internal/job"
	"legwork/cmd/legwork/internal/source"
	"legwork/probe/regmap"
	"legwork/probe/sheet"
)

// MostBytes is the largest list that is read: about 200,000 rows.
const MostBytes = 32 << 20

// Load reads a list and the register maps that it names. Where files are at
// fault the error is a *sheet.Faults with all of them.
func Load(name string) (*List, error) {
	info, err := os.Stat(name)
	if err != nil {
		return nil, fmt.Errorf("%s: %w; a sites file is CSV with the columns name and meter, or a folder of job sheets", name,
			bare(err))
	}
	r := &reader{list: &List{File: name, Maps: map[string]*regmap.Map{}}, open: job.Load}
	if info.IsDir() {
		err = r.folder(name)
	} else {
		err = r.file(name)
	}
	if err != nil {
		return nil, err
	}
	r.loadMaps()
	if err := r.err(); err != nil {
		return nil, err
	}
	return r.list, nil
}

// bare takes the name of the file out of an error, which says it already.
func bare(err error) error {
	if errors.Is(err, os.ErrNotExist) {
		return errors.New("there is no such file") // in the same words on every system
	}
	return source.Bare(err)
}

func (r *reader) file(name string) error {
	f, err := os.Open(name)
	if err != nil {
		return fmt.Errorf("%s: %w", name, bare(err))
	}
	defer f.Close()
	src, err := io.ReadAll(io.LimitReader(f, MostBytes+1))
	if err != nil {
		return fmt.Errorf("%s: %w", name, bare(err))
	}
	if len(src) > MostBytes {
		return fmt.Errorf("%s: more than %d bytes; is it the right file?", name, MostBytes)
	}
	r.csv(name, src)
	return nil
}

// folder takes every job sheet of a folder; other YAML files, such as register
// maps, are passed over.
func (r *reader) folder(name string) error {
	entries, err := os.ReadDir(name)
	if err != nil {
		return fmt.Errorf("%s: %w", name, bare(err))
	}
	for _, e := range entries {
		ext := strings.ToLower(filepath.Ext(e.Name()))
		if e.IsDir() || ext != ".yaml" && ext != ".yml" {
			continue
		}
		file := filepath.Join(name, e.Name())
		src, err := source.ReadFile(file)
		if err != nil {
			return err
		}
		if job.Is(file, src) {
			r.sheet(file, src)
		}
	}
	if len(r.list.Sites) == 0 && len(r.faults) == 0 {
		return fmt.Errorf("%s: there is no job sheet in this folder; `legwork job new` makes one, or name a CSV file", name)
	}
	return nil
}

// sheet adds the meter of a job sheet, named by its file.
func (r *reader) sheet(file string, src []byte) {
	j, err := job.Parse(file, src)
	if err == nil {
		err = j.NeedsMeter()
	}
	if r.took(err) {
		return
	}
	s := &Site{Name: strings.TrimSuffix(filepath.Base(file), filepath.Ext(file))}
	r.ofJob(s, j)
	s.Wire = WireOf(s.Meter)
	r.list.Sites = append(r.list.Sites, s)
	r.wantsMap(s, place{file, 1, 1})
}

// ofJob fills in what a job sheet says and the row doesn't.
func (r *reader) ofJob(s *Site, j *job.Job) {
	s.Meter, s.MinCurrent, s.VoltageCTs, s.Findings = j.Meter, j.MinCurrent, j.VoltageOutput(), j.Seen
	s.Map, s.Service, s.Place = cmp.Or(s.Map, j.Map), cmp.Or(s.Service, j.Service), cmp.Or(s.Place, j.Site)
	s.CTPrimary = cmp.Or(s.CTPrimary, j.CTs.Primary)
	s.Generation = cmp.Or(s.Generation, j.Generation)
	if s.Load == nil {
		s.Load = j.Load
	}
}

// took keeps the faults of another file, and reports whether there was an error.
func (r *reader) took(err error) bool {
	var faults *sheet.Faults
	switch {
	case err == nil:
		return false
	case errors.As(err, &faults):
		r.faults = append(r.faults, faults.List...)
	default:
		r.faults = append(r.faults, sheet.Fault{File: r.list.File, Line: 1, Column: 1, Problem: sheet.ProblemOf(err)})
	}
	return true
}

// loadMaps reads each register map once. One that can't be read is a fault of
// every row that names it.
func (r *reader) loadMaps() {
	for _, w := range r.maps {
		if _, tried := r.list.Maps[w.file]; tried {
			continue
		}
		m, err := source.LoadMap(w.file)
		r.list.Maps[w.file] = m
		switch {
		case errors.As(err, new(*sheet.Faults)):
			r.took(err)
		case err != nil:
			r.fault(w.at, err.Error(), "paths count from the sites file")
		}
	}
}

// err gives every fault, in the order of files and lines.
func (r *reader) err() error {
	if len(r.faults) == 0 {
		return nil
	}
	slices.SortStableFunc(r.faults, func(a, b sheet.Fault) int {
		return cmp.Or(cmp.Compare(a.File, b.File), cmp.Compare(a.Line, b.Line), cmp.Compare(a.Column, b.Column))
	})
	return &sheet.Faults{List: r.faults}
}
