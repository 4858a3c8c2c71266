// Package flow follows the power under an explanation: what flows in each leg, what
// the meter registers of it, and what each channel should read once all is right.
//
// Registration is Re sum V_k I_k* as wired over Re sum E_m J_m* as it would be
// (Blondel: with one conductor as the common point, one element fewer than
// conductors is enough). W, var and A; intervals are of about 95 %.
package flow
