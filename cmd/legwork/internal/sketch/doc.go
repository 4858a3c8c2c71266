// Package sketch draws where the voltage inputs and the CTs of a meter are: each conductor a line from supply to load,
// each lead a line down to the meter's input, so that what is exchanged is seen as what is to be exchanged.
//
// A Wiring says what is where, Of makes one Picture of it, and the picture is rendered as text or as SVG. The drawing is
// our own: a CT stands in the column of the input that it is landed on and in the row of the conductor that it is round.
// Right wiring is a staircase; whatever leaves it is marked by a word.
package sketch
