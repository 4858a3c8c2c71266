// Package sheet reads YAML files that people write: register maps, places of
// the simulator, job sheets. It is strict, and it reports every fault of a file
// at once, with line, column, the line itself and what would be right.
//
// A YAML library's own decoder stops at the first fault, loses the position of
// some and reads 010 as 8; so this package takes only its parser, and walks the
// tree. Aliases, anchors, tags and second documents are refused: none of these
// files needs them.
package sheet
