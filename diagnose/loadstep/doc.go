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
// A load that comes on by itself just then looks like the one that was asked for, so that
// a step counts only once it is proved: a person says that it was theirs, it has the size
// that was said before, or it goes off and comes back on request and then stays.
//
// Time comes in with readings.
package loadstep
