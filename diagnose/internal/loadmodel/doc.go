// Package loadmodel says how probable load angles are: a model of what hangs on
// panels, and the density of the legs' load angles that follows from it.
//
// A load angle phi is arg E - arg J of a leg in degrees, positive when the current
// lags. Densities are tables over cells of 5 degrees, drawn from the model, smoothed,
// and mixed with a floor for panels that the model doesn't know, so that a strange
// load never makes a strange arrangement certain. Every table sums to one.
package loadmodel
