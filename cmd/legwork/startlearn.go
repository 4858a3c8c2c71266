package main

import (
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"time"

	"legwork/cmd/legwork/internal/job"
	"legwork/cmd/legwork/internal/screen"
	"legwork/probe/learn"
	"legwork/probe/learn/image"
	"legwork/probe/reading"
)

// learn finds out what the meter's registers hold, asks for the measurements that
// settle most, and writes the map.
func (s *starting) learn() error {
	im, r, err := s.registers()
	if err != nil {
		return err
	}
	asked, again := map[reading.Point]bool{}, map[reading.Point]bool{}
	for !r.Settled {
		s.sayAll(screen.UnfitWords(r))
		m, err := s.measureAgain(r, again)
		if errors.Is(err, errNoInstrument) {
			m, err = s.measure(r, asked)
		}
		if errors.Is(err, errNoAnswer) {
			return s.unsettled(r)
		}
		if err != nil {
			return err
		}
		s.shown.Values = slices.DeleteFunc(s.shown.Values, func(old learn.Measured) bool { return old.Point == m.Point })
		s.shown.Values = append(s.shown.Values, m)
		r = s.understand(im)
	}
	s.say("%s", screen.LearnedBrief(r))
	s.sayAll(append(screen.UnfitWords(r), screen.SoleWords(r)))
	return s.writeMap(r)
}

func (s *starting) understand(im *image.Image) *learn.Result {
	p := s.progress()
	defer p.end()
	p.tell("making sense of what was read")
	return learn.Understand(im, s.shown.Values)
}

// measureAgain asks once more, at once, for what fits no register: most likely a slip.
func (s *starting) measureAgain(r *learn.Result, again map[reading.Point]bool) (learn.Measured, error) {
	for _, u := range r.Unfit {
		if again[u.Point] {
			continue
		}
		again[u.Point] = true
		if m, err := s.askMeasured(u.Point, r); !errors.Is(err, errNoInstrument) {
			return m, err
		}
	}
	return learn.Measured{}, errNoInstrument
}

// measure asks for what would settle most, and where the person has no instrument
// for that, for what a clamp and a multimeter show; where nothing alone would settle
// it, for whatever isn't measured; each of them once.
func (s *starting) measure(r *learn.Result, asked map[reading.Point]bool) (learn.Measured, error) {
	points := r.Lacked
	if r.Ask != nil && r.Channels > 0 {
		k := max(1, r.Ask.Point.Index)
		points = []reading.Point{r.Ask.Point, {Quantity: reading.Current, Index: k}, {Quantity: reading.Voltage, Index: k}}
	}
	for _, p := range points {
		if asked[p] {
			continue
		}
		asked[p] = true
		m, err := s.askMeasured(p, r)
		if !errors.Is(err, errNoInstrument) {
			return m, err
		}
	}
	return learn.Measured{}, errNoAnswer
}

// errNoInstrument says that a person leaves a measurement out.
var errNoInstrument = errors.New("that isn't measured")

// askMeasured asks for a measurement; a blank answer leaves it out.
func (s *starting) askMeasured(p reading.Point, r *learn.Result) (m learn.Measured, err error) {
	var blank bool
	err = s.ask.askUntil(s.c.Context(), screen.Question(p, r), "", func(answer string) error {
		if blank = answer == ""; blank {
			return nil
		}
		if _, err := strconv.ParseFloat(strings.Replace(answer, ",", ".", 1), 64); err == nil {
			answer += " " + screen.MeasuredIn(p)
		}
		x, err := reading.ParseQuantity(answer, p.Quantity.Unit())
		m = learn.Shows(p, x)
		return err
	})
	if blank {
		err = errNoInstrument
	}
	return m, err
}

// unsettled ends a session in which nobody could measure what would settle it.
func (s *starting) unsettled(r *learn.Result) error {
	s.say("%s", screen.LearnedBrief(r))
	for _, d := range r.OtherDoubts() {
		s.say("Not settled: %s", d)
	}
	s.sayAll(screen.WhatSettles(r, "legwork start "+s.sheet+" "))
	if s.anew != "" {
		s.say("%s is left as it is, though it reads otherwise than was measured", s.anew)
		return status(exitUndecided)
	}
	s.say("Or fill in a map: legwork map new %s; legwork start %s --map %[1]s", s.mapName(), s.sheet)
	return status(exitUndecided)
}

// registers reads the meter's registers, or gives those that a session which was
// broken off has read; and what they hold.
func (s *starting) registers() (*image.Image, *learn.Result, error) {
	if im, err := loadRegisters(s.registersFile(), s.at.Text, time.Now()); err == nil {
		s.say("Its registers were read at %s already", im.Times[0].Local().Format("15:04"))
		return im, s.understand(im), nil
	}
	at := s.at
	if s.Unit != 0 {
		at.Unit = s.Unit
	}
	at.Unit = max(at.Unit, 1)
	found, err := s.takeRegisters(s.c.Context(), at, learnFlags{meterFlags: s.meterFlags, measured: s.shown,
		unwritten: "no register map"})
	if err != nil {
		return nil, nil, err
	}
	return found.Image, found.result, saveRegisters(s.registersFile(), s.at.Text, found.Image)
}

func (s *starting) registersFile() string {
	return strings.TrimSuffix(s.sheet, filepath.Ext(s.sheet)) + ".registers.json"
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

// writeMap checks the map against the meter and writes it, under a name of its own
// and into the sheet; then what was read isn't needed any more.
func (s *starting) writeMap(r *learn.Result) error {
	p, err := s.checkLearned(s.c.Context(), s.at, r.Map(), learnFlags{meterFlags: s.meterFlags})
	if err != nil {
		return err
	}
	for _, one := range p.Mends {
		s.say("What is read by this map contradicts itself, and %s should change (%s); measure more: --measured",
			one.Points[0], one.Change)
	}
	if len(p.Mends) > 0 {
		return status(exitUndecided)
	}
	name, err := s.writeLearned(r.File())
	if err != nil {
		return err
	}
	s.Map, s.learned = name, true
	if err := s.put(job.Value{Name: "map", Text: s.fromSheet(name)}); err != nil {
		return err
	}
	forgetRegisters(s.registersFile())
	return nil
}
