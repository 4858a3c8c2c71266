// Package doubt gives the interval that holds 95 of 100 true values, for a sum
// of independent errors of known shapes: limits that an instrument states
// (evenly spread within them), counts that begin and end anywhere (triangular)
// and noise (normal).
//
// Adding variances and taking twice the root is right for normal errors only:
// where one stated limit is most of the error it is 13 % too wide, and holds
// the truth always instead of 95 times in 100. So the distribution of the sum is
// worked out, not approximated.
//
// The package knows no meter; it imports none of ours.
package doubt
