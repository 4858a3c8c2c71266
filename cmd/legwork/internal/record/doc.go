// Package record keeps what was read, said and done at a job, so that it can be
// proved later: an append-only file of JSON lines beside the job sheet, one
// entry a line, each with the SHA-256 of the line before it (its seal). An entry
// is a verdict as found or as left, a note of a person, or what one of the other
// commands gave, with the flags and the files that it is from.
//
// What holds. An entry is acknowledged when its line is written wholly and
// synchronised to the disk, and the head file beside the record, which counts
// the entries and holds the last seal, is too. Loss of power at any moment
// leaves every acknowledged entry; a line that was only begun is recognised at
// the next opening, kept in a .torn file and taken off. One writer at a time
// holds a lock on the record's file, which the system gives up when its process
// ends.
//
// What the chain shows. Entries that were edited, removed, inserted or put in
// another order are told by number. It holds no secret: someone who writes the
// whole record and its head anew leaves an unbroken chain, which is why a
// report prints the last seal: Store.Read's seals can be held against the paper.
package record
