// Package phasetest says which pole of the voltage taps is on which main leg,
// before the CTs go on, from what a technician reads between each leg and each pole
// with a voltmeter, or with a continuity tester on dead conductors. It enumerates
// every mapping of poles to legs, counts the readings that each can't explain, and
// settles where one mapping explains all and no other explains all but one, so that
// no single wrong reading can have misled.
//
// The service is assumed to be the one declared, within 10 % of nominal, and at
// most one reading to be wrong. The test can't know the sequence (it tells legs
// apart by name, not by rotation), nor whether a main leg is called right by its
// mark. Readings come in as values; the package does no input or output.
package phasetest
