// Package keep puts the results of commands into the record of a job: a Keeper
// is one entry on its way, and gathers where its result is from. It gives back
// what a job's record says of the wiring as it is now: tests, readings as found,
// registers read by hand.
//
// A Keeper that is nil keeps nothing, so a command asks it the same with --keep
// and without.
package keep
