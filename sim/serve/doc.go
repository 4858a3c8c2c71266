// Package serve is the simulator's Modbus server. It frames by hand, with no
// Modbus library, so that it also checks the client, which frames otherwise.
//
// It answers functions 3, 4 and 43/14; every other one, those that write among
// them, is refused with exception 1 and counted, so that tests can tell what a
// client sent.
package serve
