// Package estimate puts together what an estimate of energy is made of: the
// energy that was registered, and how the wiring registered it. A person states
// that or assumes a fault, or a verdict gives it, of a meter as it is now or of a
// job's record as found.
package estimate
