package link

import (
	"sync"
	"time"
)

// Counts tells how well a link does. All counts are since it was made.
type Counts struct {
	Requests    uint64 // frames sent, those of retries included
	Retries     uint64 // tries after the first
	Timeouts    uint64 // tries that nothing answered in time
	LateAnswers uint64 // answers to a request that was no longer waited for
	Exceptions  uint64 // answers that refuse
	BadAnswers  uint64 // answers that can't be right
	Unusable    uint64 // of the timeouts those in which a part of an answer came, or one with a wrong number
	Misnumbered uint64 // answers over TCP with the number of no transaction that was waited for
	Redials     uint64 // connections made after the first, those that replace one given up included
	Broken      uint64 // tries that ended since the connection broke, or since there was none

	BytesSent, BytesReceived uint64

	Answers  uint64               // good ones
	Silences uint64               // tries in which not one byte came in time
	Refused  [lastCode + 1]uint64 // exceptions, by their code

	// On a serial line, what came beside good answers.
	NoisyAnswers  uint64 // of them those with bytes of no frame round them
	NoiseBytes    uint64 // bytes of no frame
	ZeroBytes     uint64 // of them those that are 0
	UnaskedBytes  uint64 // bytes that came while nothing was asked
	Echoes        uint64 // our own requests heard back
	ForeignFrames uint64 // whole frames of other units
	Doubled       uint64 // whole answers that came once more
	BadChecks     uint64 // answers whose check is wrong

	// Slowest is the longest time that an answer took, one that came too late
	// to be used included: a timeout below it is too short.
	Slowest time.Duration
}

// Spoilt is how many tries ended with something that is no use as an answer. With
// Answers, Exceptions, LateAnswers and Silent it tells how all tries ended, but
// for those whose connection broke.
func (c Counts) Spoilt() uint64 { return c.BadAnswers + c.Unusable }

// Silent is how many tries nothing answered, neither in time nor late.
func (c Counts) Silent() uint64 {
	return c.Timeouts - min(c.Timeouts, c.Unusable+c.LateAnswers)
}

// lastCode is the highest exception code of the standard.
const lastCode = GatewayTarget

// tally is Counts in the hands of several goroutines.
type tally struct {
	mu sync.Mutex
	c  Counts
}

func (t *tally) update(f func(*Counts)) {
	t.mu.Lock()
	defer t.mu.Unlock()
	f(&t.c)
}

func (t *tally) snapshot() Counts {
	t.mu.Lock()
	defer t.mu.Unlock()
	return t.c
}
