// Package evidence turns readings into observations: the angles that each channel's
// current may have, stretches of time in which the load did not change, and the
// changes between them. What breaks physics is taken out first and named.
//
// Several readings of one state of the load are one piece of evidence, and so is a
// change that comes again. The spreads of noise that decide what a change is stand
// here and nowhere else. Angles are in degrees, currents in A, voltages in V.
package evidence
