// Package energy says what a wiring fault misregistered: the true energy, with an
// interval, from what was registered and from the fault's registration (registered
// over true power). The registration comes from a verdict about readings of the
// meter, from a person, or from an assumed fault with a range of power factors and
// unbalance, and the Result says from which.
//
// It can't know how the load varied while the energy was registered, so K holds
// for its conditions and no others; where the registration may be nothing there is
// no estimate. Registers are taken as net: the sum of the channels with their
// signs. Only authorised parties may adjust bills.
package energy
