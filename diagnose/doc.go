// Package diagnose says which arrangements of conductors explain what a meter
// reads, how probable each is, what to move, and what to test next.
//
// Readings go in (package probe/reading), a Result comes out; nothing here
// touches a wire or a file. The inference is exact: it weighs every
// arrangement of the service by its prior and by the density of the load
// angles that it implies. See DEVELOPERS.md for the way from one to the other.
//
// It can't know what a meter can't see: whether conductors carry the names that
// the site gives them, whether a CT surrounds all of its conductor, or what a
// channel without load would show.
package diagnose
