package diagnose

import (
	"legwork/diagnose/internal/evidence"
	"legwork/diagnose/internal/verdict"
)

// judgement is what was made of the readings, to be put into words.
type judgement struct {
	*verdict.Judgement
	options Options
	tables  *Tables
	contact *evidence.Contact
	screen  *evidence.Screen
	anew    string  // since when the readings are of this meter and its ratio
	mixture mixture // why the readings aren't of one meter; zero where they may be
}

// mixture is why readings aren't judged as one: in a few words with the line, and what
// shows it.
type mixture struct{ brief, shows string }
