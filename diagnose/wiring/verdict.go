package wiring

// Verdict is the answer of a diagnosis, a test or an account in one word. The
// result that holds it says of what.
type Verdict string

// The verdicts.
const (
	Agrees    Verdict = "agrees"    // what was asked about is right, as far as the evidence goes
	Fault     Verdict = "fault"     // something is wrong, and the result says what
	Undecided Verdict = "undecided" // the evidence leaves it open
)
