// Package clamp sets what a person reads off a clamp ammeter or a voltmeter beside
// what the meter reads: the ratio of each channel with its doubt, and what may
// explain the ratios. A ratio shows what angles can't (a CT of another rating, a
// scale in the map) and nothing of what angles can (polarity, pairing of legs that
// carry alike).
//
// Readings and typed values go in, a Result comes out. The load is assumed to be
// the same while the meter was sampled and the instrument was read; the samples
// say how steady it was.
package clamp
