package wiring

import "fmt"

// Channel is the number of a voltage and a current input of the meter: 1, 2 or 3.
type Channel uint8

// Leg is the number of a line conductor: 1, 2 or 3. NoLeg stands for none, and
// OnNeutral for the neutral, where a CT may sit by mistake.
type Leg uint8

// What is no line conductor.
const (
	NoLeg     Leg = 0 // none is meant, or it wasn't judged
	OnNeutral Leg = 4
)

// CT says on which leg the current transformer of a channel sits, and which way round.
type CT struct {
	Leg      Leg
	Reversed bool
}

// Turned is the same CT the other way round.
func (c CT) Turned() CT { return CT{c.Leg, !c.Reversed} }

// String names the place, such as "leg 2, reversed".
func (c CT) String() string {
	switch {
	case c.Leg == NoLeg:
		return "not judged"
	case c.Leg == OnNeutral && c.Reversed:
		return "the neutral, reversed"
	case c.Leg == OnNeutral:
		return "the neutral"
	case c.Reversed:
		return fmt.Sprintf("leg %d, reversed", c.Leg)
	}
	return fmt.Sprintf("leg %d", c.Leg)
}

// Arrangement says where the CT of each channel sits, channel 1 first. A
// channel that the service lacks has NoLeg.
type Arrangement [3]CT

// Of returns the CT of channel k.
func (a Arrangement) Of(k Channel) CT { return a[k-1] }
