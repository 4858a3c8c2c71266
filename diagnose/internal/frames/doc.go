// Package frames says in which ways the voltage inputs may sit on the legs, and how
// well the voltages that were read fit each way; also which services they fit, and
// whether the service's neutral holds.
//
// Voltages are per unit of the service's nominal voltage; phasors are taken from
// that of leg 1, anticlockwise.
package frames
