package main

import "errors"

// learn finds out what the meter's registers hold, and writes the map.
func (s *starting) learn() error {
	return errors.New("registers can't be learnt yet; say with --map FILE which hold what")
}

func isMeasured(text string) (string, error) { return text, nil }
