package verdict

import (
	"math/cmplx"
	"slices"

	"legwork/diagnose/internal/evidence"
	"legwork/diagnose/internal/frames"
	"legwork/diagnose/internal/infer"
	"legwork/diagnose/internal/loadmodel"
	"legwork/diagnose/internal/prior"
	"legwork/diagnose/wiring"
	"legwork/probe/reading"
)

// Given is what is to be judged: what was read of a meter, and what a person says of it.
type Given struct {
	Reading  *reading.Reading // the last one, without what can't be
	Raw      *reading.Reading // the same as it came
	History  *evidence.History
	Signed   bool // the reactive register has a sign
	Faults   []evidence.Fault
	Counters *evidence.Counters
	Late     bool // power and current are of different times

	Asked            string          // the name of the declared service; empty for none
	MinCurrent       float64         // A: a channel below it says nothing
	Decide           float64         // the probability at which a verdict is given
	VoltageOutputCTs bool            // an open secondary is no danger
	CTPrimary        float64         // A, as the CTs' plates say; 0 where it isn't known
	Loads            loadmodel.Kinds // that were declared; 0 for any mixture
	Generation       wiring.Generation
	Findings         []wiring.Finding
}

// Judgement is what was made of it.
type Judgement struct {
	Given
	Services   []wiring.Service // what the voltages leave possible
	Service    wiring.Service   // the likeliest
	Declared   wiring.Service   // unless inferred
	Inferred   bool
	Strange    bool            // it was inferred, from voltages that fit no service
	Worlds     []infer.Weighed // the ordinary one first
	Groups     []infer.Group   // the likeliest first
	Misread    evidence.Misread
	Blamed     []Blamed       // what isn't of conductors or loads, the likeliest first
	Currents   []CurrentFault // what contradicts the channels' currents
	Causes     Tally
	Unmeasured bool    // the angles of the voltages say nothing
	Neutral    float64 // probability that the service's neutral is lost
	Verdict    wiring.Verdict
	Steps      int // changes of load that were used
}

// Judge weighs what is given, and decides.
func Judge(g Given, t *prior.Tables) *Judgement {
	j := &Judgement{Given: g}
	j.weigh(t)
	j.Service = j.Services[0]
	if g := j.Top(); g != nil {
		j.Service = g.Service
	}
	if !g.Late { // which no other scale would mend
		j.Misread = evidence.Doubt(g.Raw, g.Faults, j.expected())
	}
	j.anglesAlike()
	j.energyMisfits()
	j.Neutral = j.neutralLost()
	j.Currents = j.currentFaults()
	j.blame()
	j.decide()
	return j
}

// anglesAlike reports angles of the voltages which are all the same though no inputs share a
// conductor: they aren't measured, or read from another place.
func (j *Judgement) anglesAlike() {
	g := j.Top()
	if g == nil || !frames.AnglesAlike(j.Reading, g.Service) || g.InputsMislanded() {
		return
	}
	j.Unmeasured = true
	a := j.Reading.Channels[1].VoltageAngle.Or(0)
	j.Faults = append(slices.Clip(j.Faults), evidence.Fault{Point: reading.Point{Quantity: reading.VoltageAngle, Index: 2}, Kind: evidence.AnglesAlike,
		Value: float64(a)})
}

// energyMisfits reports registers of energy that don't grow as the power would have them,
// unless the power's own scale is in doubt.
func (j *Judgement) energyMisfits() {
	for _, m := range j.Misread.Mends {
		if j.Misread.Odds > 1 && (m.Quantity == reading.Power || m.Quantity == reading.Current || m.Quantity == reading.Voltage || m.Quantity == 0) {
			return
		}
	}
	j.Faults = append(slices.Clip(j.Faults), j.Counters.Misfits()...)
}

// expected is what the service that was declared has channels read.
func (j *Judgement) expected() (e evidence.Expected) {
	e.Against = j.Counters.Against()
	e.RightAngles = j.Service.Kind == wiring.Delta || j.Service.Kind == wiring.HighLegDelta
	if j.Inferred {
		return e
	}
	for k, v := range j.Declared.InputPhasors(wiring.Forward) {
		e.Volts[k] = cmplx.Abs(v) * j.Declared.Nominal
	}
	return e
}

// Base is the ordinary world: what the channels show is the same in all.
func (j *Judgement) Base() *infer.Posterior { return &j.Worlds[0].Posterior }

// Top is the likeliest group; nil where there is none.
func (j *Judgement) Top() *infer.Group {
	if len(j.Groups) == 0 {
		return nil
	}
	return &j.Groups[0]
}

// Leads is the likeliest explanation: blamed, or else the first group.
func (j *Judgement) Leads() (*Blamed, *infer.Group) {
	g := j.Top()
	for i := range j.Blamed {
		if b := &j.Blamed[i]; g == nil || b.P >= g.Weight {
			return b, nil
		}
	}
	return nil, g
}

// servicesOf gives the declared service, or those that the voltages fit, the
// best first, and whether it was inferred, from voltages that fit.
func servicesOf(r *reading.Reading, declared string) (all []wiring.Service, inferred, fits bool) {
	for _, name := range [...]string{declared, r.Service} {
		if name == "" {
			continue
		}
		if s, err := wiring.ParseService(name); err == nil {
			return []wiring.Service{frames.PlaceHighLeg(r, s)}, false, true
		}
	}
	all, fits = frames.FittingServices(r)
	return all, true, fits
}
