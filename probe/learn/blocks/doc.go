// Package blocks finds the registers that a meter lets be read, with nothing
// known of them, and reads them several times over.
//
// It asks single registers at usual places and then on a grid, grows what
// answers to its edges by halving, and reads with functions 3 and 4 only. A
// request that reaches beyond an edge, or is too long, is refused as a whole, so
// it never takes one refusal for both; a meter that says nothing where it means
// to refuse is told from one that has gone by asking again what it did answer.
// Where a narrow block was found, or too little, every register beside it is asked,
// and so is every one of a range that a person names. It can't find a block that is
// narrower than its grid and is far from any other and from any usual place.
package blocks
