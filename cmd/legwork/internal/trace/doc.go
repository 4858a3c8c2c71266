// Package trace finds out which meter and channel a circuit hangs on, while its
// breaker is switched off and on again: a circuit is what goes off and comes
// back, by as much. Circuits follow one after another; two people may switch at
// two panels at once.
//
// Loads that come and go by themselves do the same now and then. How often, of
// which size and on which meter, is counted as it happens, and weighs against a
// circuit; so a trace that has watched for a while is surer.
package trace
