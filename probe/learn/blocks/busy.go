package blocks

import "legwork/probe/link"

// busy counts what a meter refuses because it is busy or fails, and would give a
// moment later. Some refuse with the code of a failure (4) where they have nothing:
// that is told by its staying whenever it is asked again.
type busy struct {
	counts [256]int // requests by code
	trying bool     // code 4 was answered to the request at hand
	gone   int      // times that code 4 went away when it was asked again
	stayed int      // times that it didn't
}

// How often a meter is asked again; our choice.
const (
	mostBusy   = 5 // by one that says it is busy
	mostFailed = 3 // by one that says it failed
	mostStayed = 3 // failures that stay, for each that went away, until they are refusals
)

// passes reports that a refusal may be gone when the meter is asked again; try
// is how often it was.
func (b *busy) passes(code link.Exception, try int) bool {
	switch code {
	case link.ServerDeviceBusy, link.Acknowledge:
		b.counts[code]++
		return try < mostBusy
	case link.ServerDeviceFailure:
		b.counts[code]++
		if b.refuses() {
			return false
		}
		if try >= mostFailed {
			b.stayed++
			return false
		}
		b.trying = true
		return true
	}
	b.passed(try)
	return false
}

// passed notes that a request was answered otherwise.
func (b *busy) passed(try int) {
	if b.trying && try > 0 {
		b.gone++
	}
	b.trying = false
}

// refuses reports that code 4 is how the meter refuses.
func (b *busy) refuses() bool { return b.stayed >= mostStayed*(1+b.gone) }

// failed is how many requests the meter was too busy for or failed at, and the code
// that it gave most.
func (b *busy) failed() (int, link.Exception) {
	all, most := 0, link.Exception(0)
	for code, n := range b.counts {
		if code == int(link.ServerDeviceFailure) && b.stayed > 0 && b.gone == 0 {
			continue
		}
		if all += n; n > b.counts[most] {
			most = link.Exception(code)
		}
	}
	return all, most
}
