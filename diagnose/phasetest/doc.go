// Package phasetest says which pole of the voltage taps is on which main leg,
// before the CTs go on, from what a technician reads between each leg and each
// pole with a voltmeter, or with a continuity tester on dead conductors.
//
// It is inference by enumeration. A mapping gives every pole a leg, a leg that
// isn't among these, or none (dead); the service's phasors give what each
// reading should be under it; a mapping's cost is the number of readings that
// it can't explain. One reading may be wrong, so what the readings leave open is
// every mapping that explains all but at most one. The test is settled where
// one mapping explains all and no other explains all but one: then no single
// wrong reading can have misled. Else the reading that separates most of what
// is left is asked for.
//
// It assumes that the service is the one declared, within 10 % of nominal, and
// that at most one reading is wrong. It can't know the sequence (a phase test
// tells legs apart by name, not by rotation), nor whether a main leg is called
// right by its mark. Readings come in as values; it does no input or output.
package phasetest
