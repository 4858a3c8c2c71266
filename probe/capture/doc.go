// Package capture keeps readings in files and gives them back: JSON Lines or CSV,
// told apart by the first byte, a line at a time. It is strict, since a value
// that is skipped in silence would look like one that the meter lacks: an unknown
// name, a value of a wrong kind or a time that goes back is an error with file
// and line.
//
// It stands beside a live meter (package probe): readings go in or come out. No
// file is opened here: readers and writers are handed in. One thing it can't
// tell: a last row of CSV without the end of its line, cut within the digits of
// its last column.
package capture
