package phasetest

import "legwork/diagnose/wiring"

// Cautions lists what stands before anything is touched. The standards that
// it names are titles from memory: IEC 61010-2-030 (measurement categories).
func (t Test) Cautions() []string {
	all := []string{"Only qualified people open the panel; local codes and licensed practice come before anything said " +
		"here"}
	if t.Dead {
		return append(all,
			"Lock out, tag, and prove every leg and every pole dead, with a tester that was proved on a known source before "+
				"and after",
			"Isolate the conductors from every transformer and every load between legs or to neutral: a winding, a heater or "+
				"a lamp reads as continuity",
			"Touch a continuity tester to nothing that could become live: taps may be fed from elsewhere",
		)
	}
	all = append(all,
		"The panel is live: arc-flash and shock protection, and a permit, for those licensed; where it can be made dead, "+
			"--dead gives the same answer by continuity",
		"Use a tester and leads rated for the measurement category of the place (IEC 61010-2-030); prove the tester on a "+
			"known source before and after",
		"Between a leg and a tap on another leg stands the full line voltage; put no finger past the guards of the probes",
	)
	if t.Service.Kind == wiring.HighLegDelta {
		all = append(all, "One leg stands at about 208 V to neutral: no input or load meant for 120 V goes on it")
	}
	return all
}

// cautionCTs stands before the table of CTs. UFC 3-560-01 (2006), 9-5.2: a
// secondary must never be opened while the primary is energised.
const cautionCTs = "The CTs go on with their conductors dead where that can be; a current-output CT is on the meter " +
	"or shorted before " +
	"its primary carries current, and never opened while it does: a dangerous voltage develops at its leads"

// Steps is the walk through the test.
func (t Test) Steps() []string {
	if t.Dead {
		return []string{
			"Close the reference breaker, fuses in place, the supply locked out; touch the tester's leads together: it must " +
				"show closed, and apart open",
			"Leg to leg: each pair must be open, or something still joins them",
			"Each pole to each leg: closed on the leg that feeds it, open on the others. Take a closed reading twice, the " +
				"probes set anew: one alone may be a slip",
			"Touch the tester's leads together again, then say --proved",
		}
	}
	steps := []string{"Prove the tester on a known source"}
	if hasNeutral(t.Service) {
		steps = append(steps, "Each tap to neutral must read nominal: a dead tap reads about 0 V to everything, which "+
			"looks like 'same leg'")
	} else {
		steps = append(steps, "Each tap must read line voltage to at least one leg: a dead tap reads about 0 V to "+
			"everything, which looks like 'same leg'")
	}
	return append(steps, t.crossStep(), "Prove the tester again, then say --proved")
}

func (t Test) crossStep() string {
	switch t.Service.Kind {
	case wiring.TwoWire:
		return "Leg to tap: about 0 V is the same conductor. Take each reading twice, the probes set anew: on two wires " +
			"nothing else shows a wrong one"
	case wiring.WyeLegs:
		return "Each leg to each tap: about 0 V is the same leg, line voltage another. Take a 0 V reading twice, the " +
			"probes set anew: the tap may be on the wye's third leg"
	}
	return "Each leg to each tap: about 0 V is the same leg, line voltage another"
}
