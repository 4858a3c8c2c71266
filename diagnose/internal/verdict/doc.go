// Package verdict judges one meter: it weighs worlds and arrangements against what was
// read, and says whether the wiring agrees, is at fault, or is undecided.
//
// A Judgement holds probabilities, groups and typed faults, and no sentence: package
// diagnose puts it into words. It rests on infer and frames for the posterior, on
// evidence for the register map, and on flow for the neutral's current.
//
// A declaration has a high prior and never one of one. Bounds of decisions are our
// choice, each at its line.
package verdict
