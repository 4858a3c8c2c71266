// Package prior numbers the arrangements of CTs that a service can have, and says
// how often installers make each: an arrangement takes the prior of all the ways
// that lead to it.
//
// It also says which arrangements read alike from any readings. Tables keeps both,
// with the densities of load angles, for as many cases as it is handed to.
package prior
