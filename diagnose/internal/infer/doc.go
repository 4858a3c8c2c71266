// Package infer gives the posterior over arrangements of CTs and ways of the voltage
// inputs: prior times likelihood over all of them, exactly, with no search.
//
//	p(a, f | readings) = p(a) p(f) p(voltages | f) p(load angles | a, f) p(changes of load | a, f) p(findings | a, f) / sum
//
// Load angles count once, by the state of the load that shows most; each change of
// load that is new counts by the forward pass of a hidden Markov model. What reads
// alike is gathered into groups. There are no words here: package advice makes them.
package infer
