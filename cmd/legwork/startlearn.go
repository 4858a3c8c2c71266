package main

import (
	"context"
	"errors"
	"fmt"
	"math"
	"path/filepath"
	"strconv"
	"strings"
	"time"

	"legwork/cmd/legwork/internal/job"
	"legwork/cmd/legwork/internal/source"
	"legwork/probe/learn"
	"legwork/probe/learn/blocks"
	"legwork/probe/learn/image"
	"legwork/probe/reading"
)

// learn finds out what the meter's registers hold, asks for the measurements that
// settle most, and writes the map.
func (s *starting) learn() error {
	im, err := s.registers()
	if err != nil {
		return err
	}
	measured, asked := s.shown.Values, map[reading.Point]bool{}
	for {
		p := s.progress()
		p.tell("making sense of what was read")
		r := learn.Understand(im, measured)
		p.end()
		if r.Settled {
			s.say("%s", foundIn(r))
			return s.writeMap(r)
		}
		m, err := s.measure(r, asked)
		if errors.Is(err, errNoAnswer) {
			return s.unsettled(r)
		}
		if err != nil {
			return err
		}
		measured = append(measured, m)
	}
}

// measure asks for what would settle most, and where the person has no instrument
// for that, for what a clamp and a multimeter show; each of them once.
func (s *starting) measure(r *learn.Result, asked map[reading.Point]bool) (learn.Measured, error) {
	if r.Ask == nil {
		return learn.Measured{}, errNoAnswer
	}
	k := max(1, r.Ask.Point.Index)
	for _, p := range []reading.Point{r.Ask.Point, {Quantity: reading.Current, Index: k}, {Quantity: reading.Voltage, Index: k}} {
		if asked[p] {
			continue
		}
		asked[p] = true
		m, err := s.askMeasured(learn.Ask{Point: p})
		if !errors.Is(err, errNoInstrument) {
			return m, err
		}
	}
	return learn.Measured{}, errNoAnswer
}

// errNoInstrument says that a person leaves a measurement out.
var errNoInstrument = errors.New("that isn't measured")

// askMeasured asks for a measurement; a blank answer leaves it out.
func (s *starting) askMeasured(a learn.Ask) (m learn.Measured, err error) {
	var blank bool
	err = s.ask.askUntil(s.c.Context(), instrument(a), "", func(answer string) error {
		if blank = answer == ""; blank {
			return nil
		}
		if _, err := strconv.ParseFloat(strings.Replace(answer, ",", ".", 1), 64); err == nil {
			answer += " " + unitFor(a)
		}
		x, err := reading.ParseQuantity(answer, a.Point.Quantity.Unit())
		m = learn.Measured{Point: a.Point, Value: math.Abs(x)}
		return err
	})
	if blank {
		err = errNoInstrument
	}
	return m, err
}

// unsettled ends a session in which nobody could measure what would settle it.
func (s *starting) unsettled(r *learn.Result) error {
	s.say("%s", foundIn(r))
	if r.Ask != nil {
		s.say("This would settle most: legwork start %s --measured %q", s.sheet, flagFor(*r.Ask, "..."))
	}
	s.say("Or fill in a map: legwork map new %s; legwork start %s --map %[1]s", s.mapName(), s.sheet)
	return status(exitUndecided)
}

// registers reads the meter's registers, or gives those that a session which was
// broken off has read.
func (s *starting) registers() (*image.Image, error) {
	if im, err := loadRegisters(s.registersFile(), s.at.Text, time.Now()); err == nil {
		s.say("Its registers were read at %s already", im.Times[0].Format("15:04"))
		return im, nil
	}
	im, err := s.take(s.c.Context())
	if err != nil {
		return nil, err
	}
	return im, saveRegisters(s.registersFile(), s.at.Text, im)
}

func (s *starting) registersFile() string {
	return strings.TrimSuffix(s.sheet, filepath.Ext(s.sheet)) + ".registers.json"
}

// take finds the registers that the meter gives, and reads them several times.
func (s *starting) take(ctx context.Context) (*image.Image, error) {
	conn, err := source.Dial(ctx, s.at, s.Options)
	if err != nil {
		return nil, err
	}
	defer conn.Close()
	p := s.progress()
	unit := s.Unit
	if unit == 0 {
		unit = max(s.at.Unit, 1)
	}
	im, err := blocks.Take(ctx, conn, blocks.Options{Unit: byte(unit), Step: p.learns, Enough: makesSense})
	p.end()
	if err != nil && ctx.Err() != nil {
		return nil, errInterrupted
	}
	if err != nil {
		return nil, source.Unread{Err: fmt.Errorf("%s: %w", s.at.Text, err)}
	}
	return im, nil
}

func (p *progress) learns(s blocks.Step) {
	if s.Stage == blocks.Reading {
		p.tell("reading %d registers over and over  (%s left)", s.Registers, roundly(s.Left))
		return
	}
	p.tell("%d of %d places asked, %d registers found  (%s left at most)", s.Done, s.Most, s.Registers, roundly(s.Left))
}

// mapName is a name for the map beside the sheet, that no file has yet.
func (s *starting) mapName() string {
	base := strings.TrimSuffix(s.sheet, filepath.Ext(s.sheet))
	name := base + ".map.yaml"
	for n := 2; mayBeNew(name) != nil; n++ {
		name = fmt.Sprintf("%s.map-%d.yaml", base, n)
	}
	return name
}

// writeMap writes the map under a name of its own, and into the sheet; then what
// was read isn't needed any more.
func (s *starting) writeMap(r *learn.Result) error {
	name := s.mapName()
	if err := writeNew(name, r.File()); err != nil {
		return err
	}
	s.Map = name
	if err := s.put(job.Value{Name: "map", Text: s.fromSheet(name)}); err != nil {
		return err
	}
	forgetRegisters(s.registersFile())
	return nil
}

// makesSense reports registers in which something was found: what is open of it
// an instrument settles sooner than a longer search does.
func makesSense(im *image.Image) bool {
	r := learn.Understand(im, nil)
	return r.Settled || r.Channels > 0 && r.Ask != nil
}
