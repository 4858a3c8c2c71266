package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"math"
	"os"

	"legwork/cmd/legwork/internal/job"
	"legwork/cmd/legwork/internal/record"
	"legwork/cmd/legwork/internal/source"
	"legwork/probe/capture"
	"legwork/probe/link"
	"legwork/probe/reading"
	"legwork/sim"
)

// mostKept are the readings that an entry may hold.
const mostKept = 20_000

// keeper is a source that keeps the readings it gives, as lines of a capture,
// and knows where they are from.
type keeper struct {
	source.Source
	name    string         // METER as it was named
	address source.Address // that it leads to
	mapName string         // file of the register map, or sunspec

	lines []json.RawMessage
	n     int // readings in all
	last  reading.Reading
}

// Next gives the next reading.
func (k *keeper) Next(ctx context.Context) (reading.Reading, error) {
	r, err := k.Source.Next(ctx)
	if err != nil {
		return r, err
	}
	if k.n == mostKept && !isFile(k.address) {
		return r, fmt.Errorf("an entry holds %d readings at most; say with --samples N how many to take", mostKept)
	}
	k.last = r
	if k.n++; k.n > mostKept {
		k.lines = nil // the file's hash stands for them
		return r, nil
	}
	var line bytes.Buffer
	if err := capture.NewWriter(&line).Write(r); err != nil {
		return r, err
	}
	k.lines = append(k.lines, bytes.TrimSpace(line.Bytes()))
	return r, nil
}

// fill says in an entry what was read, from which meter and by which map.
func (k *keeper) fill(ctx context.Context, e *record.Entry, j *job.Job) {
	e.Readings = k.lines
	if k.n > len(k.lines) {
		e.Cautions = append(e.Cautions, fmt.Sprintf("the capture has %d readings, more than an entry holds; the hash of its file stands for them", k.n))
	}
	e.Meter = k.identity(ctx)
	switch {
	case k.name == j.File:
		e.Meter.Address = j.Named()
	case k.Live():
		e.Cautions = append(e.Cautions, fmt.Sprintf("read from %s, where the sheet names %s", k.name, j.Named()))
	case e.Meter.Serial == "":
		e.Meter = nil // a capture that doesn't tell which meter it is of
	}
	var err error
	if e.Map, err = k.mapFile(); err != nil {
		e.Cautions = append(e.Cautions, fmt.Sprintf("the register map can't be read any more: %v", err))
	}
	e.Cautions = append(e.Cautions, ratingCaution(j, &k.last)...)
}

// identity is what the meter tells of itself; a meter that doesn't know the
// function for it leaves that blank.
func (k *keeper) identity(ctx context.Context) *record.Meter {
	m := &record.Meter{Address: k.name, Serial: k.last.Serial, Model: k.last.Model}
	asked, ok := k.Source.(interface {
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
func (k *keeper) mapFile() (*record.File, error) {
	if k.address.Kind == source.Sim {
		p, err := sim.Open(k.address.Name, sim.Options{})
		if err != nil {
			return nil, err
		}
		name, src := p.Map()
		return &record.File{Name: name, SHA256: record.Seal(src)}, nil
	}
	switch live, ok := k.Source.(*source.Meter); {
	case k.mapName == "":
		return nil, nil
	case ok && k.mapName == source.SunSpecMap: // the meter's own, by what it says of its points
		return &record.File{Name: k.mapName, SHA256: record.Seal(fmt.Append(nil, live.Map.Explain(nil)))}, nil
	}
	src, err := os.ReadFile(k.mapName)
	return &record.File{Name: k.mapName, SHA256: record.Seal(src)}, err
}

// stamp says where, by whom and by which sheet.
func stamp(e *record.Entry, j *job.Job) error {
	e.Site, e.Panel, e.By = j.Site, j.Panel, j.People.Technician
	src, err := os.ReadFile(j.File)
	e.Sheet = &record.File{Name: j.File, SHA256: record.Seal(src)}
	return err
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
