package main

import (
	"bytes"
	"crypto/sha256"
	"errors"
	"fmt"

	"legwork/cmd/legwork/internal/files"
	"legwork/cmd/legwork/internal/screen"
	"legwork/cmd/legwork/internal/source"
	"legwork/probe/learn"
	"legwork/probe/reading"
)

// holdShown holds what was measured against what the meter reads by the map that is
// there already. Where it is off, a map that was learned is learned anew; one that
// someone wrote is left alone, and the session ends.
func (s *starting) holdShown() error {
	if len(s.shown.Values) == 0 || s.learned {
		return nil
	}
	l, err := s.look(s.c, s.at.Text, s.meterFlags)
	if err != nil {
		return err
	}
	off := false
	for _, m := range s.shown.Values {
		if reads, is := readsOtherwise(&l.reading, m); is {
			off = true
			s.say("%s", screen.OffWords(m, reads))
		}
	}
	switch {
	case !off:
		return nil
	case s.Map != "" && isAsLearned(s.Map):
		s.say("%s was learned, and nobody has changed it since. Learning anew", s.Map)
		s.anew = s.Map
		return s.learn()
	case s.Map == "" || s.Map == source.SunSpecMap:
		s.say("Measure it again; where it stays, a ratio that is set in the meter is wrong: legwork diagnose %s", s.sheet)
	default:
		s.say("%s is not as legwork learned it, and is left alone: mend it, or take its line `map:` out of %s and start "+
			"again to have it learned", s.Map, s.sheet)
	}
	return status(exitUndecided)
}

// readsOtherwise gives what a meter reads where it isn't what was measured; unknown
// where it has no such channel.
func readsOtherwise(r *reading.Reading, m learn.Measured) (reading.Value, bool) {
	number := func(q reading.Quantity, k int) float64 { return r.Number(reading.Point{Quantity: q, Index: k}).Or(0) }
	switch m.Point.Quantity {
	case reading.EnergyImport, reading.TotalEnergyImport:
		return reading.Value{}, false // it goes on meanwhile, from wherever
	}
	reads := r.Number(m.Point)
	if m.Point.Quantity == reading.TotalPower {
		reads = r.Watts()
	}
	x, known := reads.Get()
	k := m.Point.Index
	fits := m.Fits(x, number(reading.Voltage, k)*number(reading.Current, k))
	return reads, known && !fits || k > len(r.Channels) && m.Value != 0
}

// asLearned begins the last line of a map as it was learned: what follows is of all
// before it, so that a changed file is told.
const asLearned = "# As it was learned; a file that is changed is never written over: "

// sealed is a learned map with that line.
func sealed(content []byte) []byte {
	return fmt.Appendf(content, "%s%s\n", asLearned, sum(content))
}

func sum(content []byte) string {
	h := sha256.Sum256(mapFormat.withoutPointer(content))
	return fmt.Sprintf("%x", h[:8])
}

// isAsLearned reports a file that holds a map as it was learned.
func isAsLearned(name string) bool {
	src, err := source.ReadFile(name)
	if err != nil {
		return false
	}
	i := bytes.LastIndex(src, []byte(asLearned))
	return i >= 0 && string(src[i:]) == asLearned+sum(src[:i])+"\n"
}

// writeLearned writes a learned map: under a new name, or over one that nobody changed.
func (s *starting) writeLearned(content []byte) (string, error) {
	if s.anew == "" {
		name := s.mapName()
		return name, mapFormat.write(files.Output{Name: name}, sealed(content))
	}
	if !isAsLearned(s.anew) {
		return "", errors.New(s.anew + ": this was changed a moment ago, and is left alone")
	}
	own := func([]byte) bool { return true }
	return s.anew, mapFormat.write(files.Output{Name: s.anew, Own: own}, sealed(content))
}
