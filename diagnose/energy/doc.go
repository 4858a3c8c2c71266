// Package energy says what a wiring fault misregistered: the true energy, with
// an interval, from what was registered and from the registration (registered
// over true power) of the fault.
//
// It stands behind package diagnose. The registration comes from one of three
// places, and the Result says from which:
//
//   - a verdict about readings of the meter: as measured, at the load read;
//   - a person, with its bounds;
//   - an assumed arrangement with a range of power factors and unbalance, by the
//     same physics as everywhere here: what channel k reads is the voltage of its
//     input times the current of the leg that its CT is on, turned by the load
//     angle and by 180 degrees where the CT is reversed.
//
// It can't know how the load varied while the energy was registered, so K holds
// for its conditions and no others; where the registration may be nothing, no
// estimate is possible and none is made. Registers are taken as net: the sum of
// the channels with their signs. Adjusting bills is for those the law names.
package energy
