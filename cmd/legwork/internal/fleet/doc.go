// Package fleet serves a yard of simulated meters on loopback, for the survey,
// the trace and the desk to be tried on: buildings of one kind of place each,
// their suites and a main meter behind one gateway. Some gateways take a single
// connection, some are slow, some speak RTU over TCP, some say nothing.
//
// What is wired wrong is drawn from a seed and told apart from the list of
// meters, so that a list can be judged without its answers.
package fleet
