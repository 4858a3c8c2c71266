// Package gaussian is the normal density, on a line and in the plane.
//
// Every spread in the diagnosis that is an error or a drift is one of these; a
// spread is always one standard deviation, in the unit of what it spreads.
package gaussian
