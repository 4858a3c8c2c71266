package keep

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
	"legwork/probe/reading"
	"legwork/sim"
)

// mostKept are the readings that an entry may hold.
const mostKept = 20_000

// Origin says where readings are from.
type Origin struct {
	Meter   string         // METER as it was named
	Address source.Address // that it leads to
	Map     string         // file of the register map, or sunspec
}

// Source has the entry hold the readings that a source gives from now on.
func (k *Keeper) Source(s source.Source, from Origin) (source.Source, error) {
	if k == nil {
		return s, nil
	}
	k.meter = &meter{Source: s, from: from}
	return k.meter, k.Capture(from.Address)
}

// meter is a source that keeps the readings it gives, as lines of a capture.
type meter struct {
	source.Source
	from Origin

	lines []json.RawMessage
	n     int // readings in all
	last  reading.Reading
}

// Under is the source whose readings are kept.
func (m *meter) Under() source.Source { return m.Source }

// Next gives the next reading.
func (m *meter) Next(ctx context.Context) (reading.Reading, error) {
	r, err := m.Source.Next(ctx)
	if err != nil {
		return r, err
	}
	if m.n == mostKept && !isFile(m.from.Address) {
		return r, fmt.Errorf("an entry holds %d readings at most; say with --samples N how many to take", mostKept)
	}
	m.last = r
	if m.n++; m.n > mostKept {
		m.lines = nil // the file's hash stands for them
		return r, nil
	}
	var line bytes.Buffer
	if err := capture.NewWriter(&line).Write(r); err != nil {
		return r, err
	}
	m.lines = append(m.lines, bytes.TrimSpace(line.Bytes()))
	return r, nil
}

// fill says in an entry what was read, from which meter and by which map.
func (m *meter) fill(ctx context.Context, e *record.Entry, j *job.Job) {
	caution := func(format string, args ...any) { e.Cautions = append(e.Cautions, fmt.Sprintf(format, args...)) }
	e.Readings = m.lines
	if m.n > len(m.lines) {
		caution("the capture has %d readings, more than an entry holds; the hash of its file stands for them", m.n)
	}
	e.Meter = m.identity(ctx)
	switch {
	case m.from.Meter == j.File && !j.Meter.Short():
		e.Meter.Address = j.Named()
	case m.from.Meter == j.File, j.Named() == "":
		e.Meter.Address = m.from.Address.Text
	case m.Live():
		caution("read from %s, where the sheet names %s", m.from.Meter, j.Named())
	case e.Meter.Serial == "":
		e.Meter = nil // a capture that doesn't tell which meter it is of
	}
	var err error
	if e.Map, err = m.mapFile(); err != nil {
		caution("the register map can't be read any more: %v", err)
	}
	if set, ok := m.last.CTPrimary.Get(); ok && otherRating(set, j.CTs.Primary) {
		caution("the meter is set to CTs of %g A, and the sheet says %g A: one of the two is wrong, "+
			"and with it every current and power", set, j.CTs.Primary)
	}
}

// otherRating tells a meter that is set to other CTs than the sheet names: all
// its currents and powers are wrong in that ratio. Half a percent is our choice.
func otherRating(set, sheet float64) bool {
	return sheet != 0 && math.Abs(set-sheet) >= 0.005*sheet
}

// identity is what the meter tells of itself; a meter that doesn't know the
// function for it leaves that blank.
func (m *meter) identity(ctx context.Context) *record.Meter {
	out := &record.Meter{Address: m.from.Meter, Serial: m.last.Serial, Model: m.last.Model}
	if live, ok := m.Source.(*source.Meter); ok {
		if id, err := live.Identify(ctx); err == nil {
			out.Vendor, out.Product, out.Revision = id.Vendor, id.Product, id.Revision
		}
	}
	return out
}

// mapFile is the register map that was read by, or nil of a capture without one.
func (m *meter) mapFile() (*record.File, error) {
	if m.from.Address.Kind == source.Sim {
		p, err := sim.Open(m.from.Address.Name, sim.Options{})
		if err != nil {
			return nil, err
		}
		name, src := p.Map()
		return &record.File{Name: name, SHA256: record.Seal(src)}, nil
	}
	switch live, ok := m.Source.(*source.Meter); {
	case m.from.Map == "":
		return nil, nil
	case ok && m.from.Map == source.SunSpecMap: // the meter's own, by what it says of its points
		return &record.File{Name: m.from.Map, SHA256: record.Seal(fmt.Append(nil, live.Map.Explain(nil)))}, nil
	}
	src, err := os.ReadFile(m.from.Map)
	return &record.File{Name: m.from.Map, SHA256: record.Seal(src)}, err
}
