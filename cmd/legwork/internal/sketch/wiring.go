package sketch

import (
	"fmt"

	"legwork/diagnose"
	"legwork/diagnose/wiring"
)

// Wiring is where the CTs and the voltage inputs of a service are.
type Wiring struct {
	Service wiring.Service
	CT      wiring.Arrangement
	Input   [3]wiring.InputState
	Shares  [3]wiring.Leg // of an input that is on another's conductor: which; NoLeg where it isn't known
	Keep    bool          // nothing is to be moved yet, or at all: the marks only say what is so
}

// Right is the wiring as it should be.
func (w Wiring) Right() Wiring {
	r := Wiring{Service: w.Service, CT: w.Service.Right()}
	for k := range w.Service.Channels() {
		r.Input[k] = wiring.InputLive
	}
	return r
}

// OfResult is the wiring as the first explanation of a result has it. There is none where it places nothing.
func OfResult(r *diagnose.Result) (Wiring, bool) {
	if len(r.Explanations) == 0 {
		return Wiring{}, false
	}
	x := &r.Explanations[0]
	w, ok := ofExplanation(r, x)
	w.Keep = r.Verdict != diagnose.Fault || len(x.Moves) == 0 || x.Moves[0].LiveWork // no move that is made dead
	return w, ok
}

// ofExplanation is the wiring as an explanation has it.
func ofExplanation(r *diagnose.Result, x *diagnose.Explanation) (Wiring, bool) {
	name := r.Service.Name
	if x.Service != "" {
		name = x.Service
	}
	s, err := wiring.ParseService(name)
	if err != nil {
		return Wiring{}, false
	}
	w := Wiring{Service: s}
	placed := len(x.Voltage) > 0
	for _, c := range x.CT {
		if c.Channel < 1 || c.Channel > s.Channels() {
			continue
		}
		w.CT[c.Channel-1] = placeOf(c)
		placed = placed || w.CT[c.Channel-1].Leg != wiring.NoLeg
	}
	for _, v := range x.Voltage {
		if v.Channel < 1 || v.Channel > s.Channels() {
			continue
		}
		w.input(r, v)
	}
	return w, placed && x.Cause != diagnose.CauseMap
}

func placeOf(c diagnose.CTPlaced) wiring.CT {
	at := wiring.CT{Reversed: c.Reversed != nil && *c.Reversed}
	switch {
	case c.On == "neutral":
		at.Leg = wiring.OnNeutral
	case c.Leg != nil:
		at.Leg = wiring.Leg(*c.Leg)
	}
	return at
}

func (w *Wiring) input(r *diagnose.Result, v diagnose.InputJudged) {
	k := v.Channel - 1
	w.Input[k] = v.State
	switch v.State {
	case wiring.InputShared:
		w.Shares[k] = sharedWith(r, k)
	case wiring.InputHigh, wiring.InputLow:
		if !v.Severe { // a little off is live
			w.Input[k] = wiring.InputLive
		}
	}
}

// Pictures are the drawings that show a result: where everything is, and where it should be if something is to be moved.
func Pictures(r *diagnose.Result) []Titled {
	w, ok := OfResult(r)
	if !ok {
		return nil
	}
	title := "As it is"
	if r.Verdict == diagnose.Undecided {
		title = fmt.Sprintf("Likeliest, %.0f %%", 100*r.Explanations[0].Probability)
	}
	all := []Titled{{title, Of(w)}}
	if !w.Keep && len(all[0].Marks) > 0 {
		all = append(all, Titled{"As it should be", Of(w.Right())})
	}
	return all
}

// sharedWith is the leg of the lower input whose voltage has the same angle; the only lower one needs none.
func sharedWith(r *diagnose.Result, k int) wiring.Leg {
	if k == 1 {
		return 1
	}
	const near = 30 // degrees; conductors are 120 or 180 apart
	if k >= len(r.Channels) {
		return wiring.NoLeg
	}
	own, known := r.Channels[k].VoltageAngle.Get()
	for j := range k {
		if other, ok := r.Channels[j].VoltageAngle.Get(); known && ok && own.Minus(other).Abs() < near {
			return wiring.Leg(j + 1)
		}
	}
	return wiring.NoLeg
}
