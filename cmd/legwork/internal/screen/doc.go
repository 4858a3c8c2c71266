// Package screen renders readings and verdicts as text for someone on a
// ladder: the verdict first, then what was read, then what to do. It fits 80
// columns, says nothing by colour alone, and can do without Unicode.
package screen
