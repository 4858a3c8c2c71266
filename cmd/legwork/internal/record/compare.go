package record

import "legwork/diagnose/asleft"

// Compared holds what a channel was predicted to read after the move against what it
// reads as left. Entries that an earlier program wrote have no probability.
type Compared = asleft.Compared
