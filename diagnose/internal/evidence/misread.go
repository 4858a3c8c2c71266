package evidence

import (
	"math"

	"legwork/probe/reading"
)

// Prior log odds of a map that is wrong in one way, against a right one: our choice,
// no source. One map in twenty or so is wrong somewhere when it is first used. Halving or
// doubling oneScale, oneChannel, turnedOver and lagForLead changes no verdict of
// TestSensitivity: ties hold or are broken. Of the others that isn't measured.
const (
	oneScale   = -5.8 // one quantity by one power of ten, on all channels
	oneChannel = -7.6 // the same on one channel
	oddFactor  = -1.0 // the same by a factor that is no power of ten: added
	turnedOver = -7.0
	lagForLead = -4.5
	exchanged  = -8.0  // the channels of one quantity, two of them or all in a ring
	oneOther   = -9.0  // one point that is something else: prior and what it then reads
	allOther   = -9.5  // the same of one quantity, on all channels
	otherwise  = -10.0 // registers that are something else: prior and what they then read
	unreadable = -15.0 // log likelihood of a value that nothing can have, if the map is right
	leastDoubt = -0.5  // ties that all hold better than this raise no doubt
	mostIdle   = 5.0   // nats: of channels without power, where a CT on another leg may have none
	leastGain  = 1.0   // nats: a mend after which the ties hold no better says nothing
	faultNats  = 4.0   // what a mend of what was taken out of the reading is worth less than another
)

// Misread is the register map in doubt.
type Misread struct {
	Odds  float64 // of a wrong map against a right one
	Mends []Mend  // the likeliest, which may be several that must be made together
	Taken bool    // the mends are of what was taken out of the reading
}

// Expected is what the service that was declared has channels read.
type Expected struct {
	Volts       Volts
	Against     float64 // log likelihood of the way in which energy is counted, if the power's sign is right
	RightAngles bool    // a CT on another leg may turn an angle by 90 degrees, and leave no power
}

// Doubt weighs whether the map misreads the meter: the ties of the reading as it is,
// against those after each mend. Faults are what was taken out of the reading.
func Doubt(r *reading.Reading, faults []Fault, expect Expected) Misread {
	as := ties(r, leastAmps)
	right := as.log + expect.Against
	as.worst = math.Min(as.worst, expect.Against)
	best, m := math.Inf(-1), Misread{}
	var sum float64
	consider := func(log float64, taken bool, all ...Mend) {
		sum += math.Exp(log)
		if log > best+1e-9 {
			best, m.Mends, m.Taken = log, all, taken
		}
	}
	if len(faults) > 0 {
		right += unreadable
		consider(otherwise-faultNats, true, mendsOf(faults)...)
	}
	if len(faults) == 0 && as.worst > leastDoubt && (as.idle == 0 || expect.RightAngles && as.idle > -mostIdle) {
		return Misread{}
	}
	mended := reading.Reading{}
	var room [reading.MaxChannels]reading.Channel
	for one := range mends(r) {
		mended = *r
		mended.Channels = room[:copy(room[:], r.Channels)]
		one.apply(&mended)
		log := ties(&mended, one.leastAmps()).log + one.restores(r, &expect.Volts) + one.blanks(r)
		if one.leaves(faults, mended) {
			log += unreadable
		}
		if one.Change != TurnOver {
			log += expect.Against
		}
		if log > right+leastGain {
			consider(one.prior()+log, false, one)
		}
	}
	consider(otherwise, false, Mend{Change: Readdress})
	m.Odds = sum / math.Exp(right)
	return m
}

// mendsOf takes the mends of faults, each once.
func mendsOf(faults []Fault) []Mend {
	var all []Mend
	for _, f := range faults {
		m := Mend{Change: Readdress, Quantity: f.Point.Quantity, Channel: f.Point.Index}
		switch f.Kind {
		case NoSize:
			m = Mend{Change: Reorder}
		case OffByDecades:
			m = Mend{Change: Rescale, Quantity: f.Point.Quantity, Factor: math.Pow(10, -f.Decade)}
		}
		known := false
		for _, o := range all {
			known = known || o == m
		}
		if !known {
			all = append(all, m)
		}
	}
	return all
}

// leaves reports a mend after which something still can't be.
func (m Mend) leaves(faults []Fault, mended reading.Reading) bool {
	if len(faults) == 0 {
		return false
	}
	for _, f := range faults {
		if f.Kind == Frozen && !(m.Change == Readdress && m.Quantity == f.Point.Quantity && (m.Channel == 0 || m.Channel == f.Point.Index)) {
			return true
		}
	}
	var s Screen
	s.Screen(mended)
	return len(s.Faults) > 0
}
