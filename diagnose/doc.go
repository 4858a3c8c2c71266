// Package diagnose says which arrangements of conductors explain what a meter
// reads, how probable each is, what to move, and what to test next.
//
// Readings go in (package probe/reading), a Result comes out; nothing here touches a
// wire or a file. The way from one to the other is a line of rooms under internal:
// evidence, prior and frames, infer, flow, then advice, verdict and trial; loadmodel
// and gaussian serve them. This package opens a Case, has it judged (verdict) and puts
// the judgement into words: a Result, which every rendering shows.
//
// It can't know what a meter can't see: whether conductors carry the names that the
// site gives them, whether a CT surrounds all of its conductor, or what a channel
// without load would show.
package diagnose
