// Package clamp sets what a person reads off a clamp ammeter or a voltmeter
// beside what the meter reads: the ratio of each channel with its doubt, and
// what may explain the ratios.
//
// It stands beside package diagnose, after probe/reading: readings and typed
// values go in, a Result comes out. A ratio tells what angles can't (a CT of
// another rating, a scale in the map) and nothing of what angles can (polarity,
// pairing of legs that carry alike).
//
// It assumes that the load was the same while the meter was sampled and the
// instrument was read; the samples say how steady it was. It takes the
// instrument's errors as evenly spread within the limits that its maker states.
package clamp
