// Package doubt gives the interval that holds 95 of 100 true values, for a sum of
// independent errors of known shapes: limits that an instrument states (evenly
// spread within them), counts that begin and end anywhere (triangular) and noise
// (Gaussian). The distribution of the sum is worked out, not approximated, and the
// package knows no meter.
//
// The usual root of the sum of squares with a coverage factor of 2 (JCGM 100:2008,
// 6.3.3) is right where the sum is nearly Gaussian (G.6.6), and no more: measured
// by the coverage tests of clamp, pulses and energy it holds the truth 94.5 to
// 100 times in 100, and 100 where one stated limit is most of the error (G.6.1
// asks for the distributions there). A factor that follows the sum's kurtosis
// holds it 90 to 96 times, least where a load is on now and then.
package doubt
