// Package wiring is the vocabulary of arrangements and verdicts: which services
// there are, what sits on which leg and which way round, what colours conductors
// have. It holds facts and words, no inference and no input or output.
//
// A leg is named by the number of the voltage input whose conductor it is (physics
// speaks of pairing, whatever the conductors are called); on a three-wire delta the
// legs count 1 = A, 2 = B, 3 = C.
package wiring
