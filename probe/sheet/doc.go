// Package sheet reads files that people write, in YAML or as a table in CSV: the
// tags of a struct are the table of a format, and fill it. It is strict, and
// reports every fault of a file at once, with line, column, the line itself and
// what would be right.
//
// A YAML library's own decoder stops at the first fault, loses the position of
// some and reads 010 as 8; so this package takes only its parser, and walks the
// tree. Aliases, anchors, tags and second documents are refused: none of these
// files needs them.
package sheet
