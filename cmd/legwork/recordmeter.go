package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"time"

	"github.com/spf13/cobra"

	"legwork/cmd/legwork/internal/job"
	"legwork/cmd/legwork/internal/record"
	"legwork/cmd/legwork/internal/source"
	"legwork/diagnose"
	"legwork/probe"
	"legwork/probe/link"
	"legwork/probe/reading"
	"legwork/sim"
)

// mostKept are the readings that an entry may hold.
const mostKept = 20_000

// keeper is a source that keeps the readings it gives, as lines of a capture.
type keeper struct {
	source.Source
	lines []json.RawMessage
	last  reading.Reading
}

// Next gives the next reading.
func (k *keeper) Next(ctx context.Context) (reading.Reading, error) {
	r, err := k.Source.Next(ctx)
	if err != nil {
		return r, err
	}
	if len(k.lines) == mostKept {
		return r, fmt.Errorf("an entry holds %d readings at most; say with --samples N how many to take", mostKept)
	}
	var line bytes.Buffer
	if err := probe.NewCaptureWriter(&line).Write(r); err != nil {
		return r, err
	}
	k.lines, k.last = append(k.lines, bytes.TrimSpace(line.Bytes())), r
	return r, nil
}

// takeEntry reads the job's meter and makes an entry of what it says.
func (a *app) takeEntry(c *cobra.Command, j *job.Job, f diagnoseFlags) (record.Entry, error) {
	var e record.Entry
	options, err := a.options(c, j.File, &f)
	if err != nil {
		return e, err
	}
	s, err := a.open(c.Context(), c, j.File, f.meterFlags)
	if err != nil {
		return e, err
	}
	defer s.Close()
	options.Service = s.Service()
	on := diagnose.New(options)
	k := &keeper{Source: s}
	if err := gather(c.Context(), k, on, f); err != nil {
		return e, err
	}
	r := on.Result()
	e.At, e.Readings, e.Verdict, e.Seen = time.Now(), k.lines, &r, f.seen
	e.Meter = meterIdentity(c.Context(), s, j, &k.last)
	e.Map, err = mapFile(s, j, f.Map)
	if err == nil {
		err = stamp(&e, j)
	}
	e.Cautions = ratingCaution(j, &k.last)
	return e, err
}

// stamp says where, by whom and by which sheet.
func stamp(e *record.Entry, j *job.Job) error {
	e.Site, e.Panel, e.By = j.Site, j.Panel, j.People.Technician
	src, err := os.ReadFile(j.File)
	e.Sheet = &record.File{Name: j.File, SHA256: record.Seal(src)}
	return err
}

// meterIdentity is what the meter tells of itself; a meter that doesn't know the
// function for it leaves that blank.
func meterIdentity(ctx context.Context, s source.Source, j *job.Job, r *reading.Reading) *record.Meter {
	m := &record.Meter{Address: j.Named(), Serial: r.Serial, Model: r.Model}
	asked, ok := s.(interface {
		Identify(context.Context) (link.Identity, error)
	})
	if !ok {
		return m
	}
	if id, err := asked.Identify(ctx); err == nil {
		m.Vendor, m.Product, m.Revision = id.Vendor, id.Product, id.Revision
	}
	return m
}

// mapFile is the register map that was read by, or nil of a capture without one.
func mapFile(s source.Source, j *job.Job, override string) (*record.File, error) {
	if j.Meter.Kind == source.Sim {
		p, err := sim.Open(j.Meter.Name, sim.Options{})
		if err != nil {
			return nil, err
		}
		name, src := p.Map()
		return &record.File{Name: name, SHA256: record.Seal(src)}, nil
	}
	name := j.Map
	if override != "" {
		name = override
	}
	switch live, ok := s.(*source.Meter); {
	case name == "":
		return nil, nil
	case ok && name == source.SunSpecMap: // the meter's own, by what it says of its points
		return &record.File{Name: name, SHA256: record.Seal(fmt.Append(nil, live.Map.Explain(nil)))}, nil
	}
	src, err := os.ReadFile(name)
	return &record.File{Name: name, SHA256: record.Seal(src)}, err
}

// ratingCaution tells a meter that is set to other CTs than the sheet names: all
// its currents and powers are wrong in that ratio.
func ratingCaution(j *job.Job, r *reading.Reading) []string {
	set, ok := r.CTPrimary.Get()
	if !ok || j.CTs.Primary == 0 || math.Abs(set-j.CTs.Primary) < 0.005*j.CTs.Primary {
		return nil
	}
	return []string{fmt.Sprintf("the meter is set to CTs of %g A, and the sheet says %g A: one of the two is wrong, and with it every current and power", set, j.CTs.Primary)}
}

// cautionsOf tells what differs from the entries before.
func cautionsOf(e *record.Entry, before *record.Log) []string {
	var all []string
	_, moved := before.TestsSinceMove()
	if e.Kind == record.AsFound && moved {
		all = append(all, "something was moved already by this record: what is found now isn't the wiring as it was found")
	}
	last := before.Last(record.AsFound, record.AsLeft)
	if last == nil {
		return all
	}
	if was, is := last.Meter, e.Meter; was != nil && is != nil && was.Serial != is.Serial {
		all = append(all, fmt.Sprintf("another meter answered: serial %q, where entry %d has %q", is.Serial, last.Number, was.Serial))
	}
	if was, is := last.Map, e.Map; was != nil && is != nil && was.SHA256 != is.SHA256 {
		all = append(all, fmt.Sprintf("the register map is another one than that of entry %d", last.Number))
	}
	return all
}
