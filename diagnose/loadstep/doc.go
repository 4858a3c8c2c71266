// Package loadstep judges changes as they come: which channel took the load that a
// technician switched on, and whether conductors were moved meanwhile. It takes the
// changes of load as package evidence finds them, and hands what they show on as
// findings.
//
// A Follower tells of each change of load once it has stayed. A Led waits for the load
// of a known leg: the channel that takes it is the one whose CT sits on that leg. A
// Rival judges anew what came after a change that moved conductors could have made,
// and takes over when it is sure of other wiring.
//
// Time comes in with readings. What is passed by is said in Limits of `legwork help`:
// a load on the same leg that comes on by itself just then is taken for the one that
// was asked for.
package loadstep
