// Package health says what is wrong with the wire to a meter: not with what the
// meter reads, but with how its answers come.
//
// It stands beside package probe. Examine asks a meter in ways that show each
// trouble (close together and apart, short blocks and long, a second connection)
// and keeps what came of it; Findings draws the conclusions from that and from
// the counts of a link, and needs no meter. Each finding says what was seen and
// what to check at the terminals.
//
// It can't see what a link doesn't: voltages on the line, or who else talks
// while nothing of it reaches this end.
package health
