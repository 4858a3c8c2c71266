// Package sites reads lists of meters: a CSV file with a row a meter, or a
// folder with a job sheet a meter. Every fault of the list is reported at once,
// with file, line and column.
//
// It also says which meters share a wire, and so must be asked in turn: a wire
// is a serial port, a host and port, or what the column `wire` says.
//
// It contacts no meter. Of the files that a list names it opens register maps
// and job sheets, each once.
package sites
