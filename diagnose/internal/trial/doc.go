// Package trial plans the tests that a technician can make.
//
// Each test gives every hypothesis a probability for each of its outcomes; what a
// test is worth is the expected drop of entropy (Shannon) over what the
// hypotheses claim, against the time it takes and how near it brings hands to
// live parts.
package trial
