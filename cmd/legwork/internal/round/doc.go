// Package round asks the meters of one wire, one after another over one
// connection, again and again: for the survey once, for the trace and the desk
// for as long as they run.
//
// A wire that can't be connected to costs one try a round, and a connection on
// which nothing answered through a whole round is made anew. Otherwise it is
// kept, whatever one meter does: some gateways take no second one.
package round
