// Package seek finds a meter of which the address isn't known: the speed, the
// parity and the unit on a serial line, or the unit behind a network address.
//
// It stands beside package probe: it needs no register map, and asks for one
// register, which does no harm and which any answer to, a refusal too, is good
// for. What it hears that is no answer is kept, since it tells a silent line
// from one that speaks otherwise. It can't tell one stop bit from two: a
// receiver looks at the first only.
package seek
