package main

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"strconv"
	"strings"
	"time"

	"legwork/cmd/legwork/internal/job"
	"legwork/cmd/legwork/internal/source"
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
	measured, asked := s.shown.Values, map[string]bool{}
	for {
		u := understand(im, measured)
		if u.file != nil {
			s.say("%s", u.told)
			return s.writeMap(u.file)
		}
		if u.ask == (wanted{}) || asked[u.ask.String()] {
			return s.unsettled(u)
		}
		asked[u.ask.String()] = true
		m, err := s.askMeasured(u.ask)
		if errors.Is(err, errNoAnswer) {
			return s.unsettled(u)
		}
		if err != nil {
			return err
		}
		measured = append(measured, m)
	}
}

// wanted is a measurement that would settle most.
type wanted struct {
	channel int    // 0 is all of them
	unit    string // V, A or kW
}

func (w wanted) String() string {
	if w.channel == 0 {
		return "total: ... " + w.unit
	}
	return fmt.Sprintf("channel %d: ... %s", w.channel, w.unit)
}

// question asks for a measurement in the words of the instrument. A clamp goes
// where the CT is: that may be another leg than it should be.
func (w wanted) question() string {
	switch {
	case w.channel > 0 && w.unit == "V":
		return fmt.Sprintf("What does your multimeter show between voltage input %d and neutral, in V?", w.channel)
	case w.channel > 0 && w.unit == "A":
		return fmt.Sprintf("What does your clamp show on the conductor that CT %d is round, in A?", w.channel)
	case w.channel > 0:
		return fmt.Sprintf("What does the meter's display show for the power of channel %d, in %s?", w.channel, w.unit)
	}
	return fmt.Sprintf("What does the meter's display show in all, in %s?", w.unit)
}

// askMeasured asks for a measurement; a blank answer is none.
func (s *starting) askMeasured(w wanted) (m measurement, err error) {
	err = s.ask.askUntil(s.c.Context(), w.question(), "", func(answer string) error {
		if answer == "" {
			return errNoAnswer
		}
		if _, err := strconv.ParseFloat(strings.Replace(answer, ",", ".", 1), 64); err == nil {
			answer += " " + w.unit
		}
		x, err := reading.ParseQuantity(answer, strings.TrimPrefix(w.unit, "k"))
		if err != nil {
			return err
		}
		m, err = isMeasured(strings.Replace(w.String(), "... "+w.unit, fmt.Sprintf("%g %s", x, strings.TrimPrefix(w.unit, "k")), 1))
		return err
	})
	return m, err
}

// unsettled ends a session in which nobody could measure what would settle it.
func (s *starting) unsettled(u understood) error {
	s.say("%s", u.told)
	if u.ask != (wanted{}) {
		s.say("This would settle most: legwork start %s --measured %q", s.sheet, u.ask)
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
func (s *starting) writeMap(src []byte) error {
	name := s.mapName()
	if err := writeNew(name, src); err != nil {
		return err
	}
	s.Map = name
	if err := s.put(job.Value{Name: "map", Text: s.fromSheet(name)}); err != nil {
		return err
	}
	forgetRegisters(s.registersFile())
	return nil
}
