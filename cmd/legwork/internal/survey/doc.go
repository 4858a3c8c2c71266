// Package survey reads and judges every meter of a list once: which are wired
// wrong, what is lost, who goes where first, and whether each main agrees with
// the sum of what hangs below it.
//
// Wires go in parallel; the meters of one wire are asked in turn. A survey that
// is interrupted gives what is known so far, and says that it isn't all.
package survey
