package diagnose

import (
	"fmt"
	"math"

	"legwork/diagnose/internal/evidence"
	"legwork/diagnose/internal/verdict"
	"legwork/probe/reading"
)

// dataFault says what is wrong with a reading, and the likely mend of the map.
func dataFault(f evidence.Fault) DataFault {
	fault, mend := faultWords(f)
	return DataFault{Point: f.Point.String(), Fault: fault, Mend: mend}
}

// energyMend says what would make an energy fit its power.
func energyMend(f evidence.Fault) string {
	if f.Decade == 0 {
		return "check its address, its type and its scale, and how often the power was read"
	}
	return fmt.Sprintf("multiply its scale by %g; or, if a clamp shows that the currents are wrong, those of current and power by %g",
		math.Pow(10, f.Decade), math.Pow(10, -f.Decade))
}

// unmeasuredMend is what to do with angles of voltages that are none.
const unmeasuredMend = "leave voltage_angle out of the map, or have it read the registers that hold it"

func faultWords(f evidence.Fault) (fault, mend string) {
	x := f.Value
	switch f.Kind {
	case evidence.NoSize:
		return fmt.Sprintf("%.3g is no size of anything here", x), "its words are probably exchanged: try another order (CDAB for ABCD)"
	case evidence.TooLarge:
		return fmt.Sprintf("%.3g %s is beyond any meter of this kind", x, f.Point.Quantity.Unit()), "check the type, the order of its words, and its scale"
	case evidence.BelowZero:
		return fmt.Sprintf("%.4g %s is below zero", x, f.Point.Quantity.Unit()), "check its type and whether it is this quantity at all"
	case evidence.BeyondOne:
		mend = "check its scale: it runs from -1 to 1"
		if math.Abs(x) <= 102 {
			mend = "it looks like percent: add `unit: \"%\"`"
		}
		return fmt.Sprintf("%.4g is beyond 1", x), mend
	case evidence.Unsigned:
		return fmt.Sprintf("%.6g W, with %.4g VA there, is a negative power read as an unsigned one", x, f.VA), "write type s16 or s32 for u16 or u32"
	case evidence.OffByDecades:
		size := "large"
		if f.Decade < 0 {
			size = "small"
		}
		return fmt.Sprintf("%.4g W is %g times too %s for %.4g VA", x, math.Pow(10, math.Abs(f.Decade)), size, f.VA),
			fmt.Sprintf("multiply its scale by %g, or check its unit", math.Pow(10, -f.Decade))
	case evidence.BeyondVA:
		return fmt.Sprintf("%.4g W is more than the %.4g VA of its voltage and current", x, f.VA),
			"check the scales of power, voltage and current, and the ratio of the CT"
	case evidence.EnergyMisfit:
		return fmt.Sprintf("grew by %.4g Wh, and the power made %.4g Wh", x, f.Watts), energyMend(f)
	case evidence.AnglesAlike:
		return fmt.Sprintf("%.4g deg, which all inputs read, is no angle between them", x), unmeasuredMend
	case evidence.AngleMisfit:
		return fmt.Sprintf("%.4g deg doesn't fit %.4g W of %.4g VA", x, f.Watts, f.VA), misfitMends[f.Misfit]
	case evidence.NoServiceAngle:
		return fmt.Sprintf("%.4g deg is no angle between the voltages of a service", x), misfitMends[f.Misfit]
	case evidence.Frozen:
		return fmt.Sprintf("stays at %.6g %s while the current changes", x, f.Point.Quantity.Unit()), "check the address: this register doesn't follow the load"
	}
	return fmt.Sprintf("%.4g Hz is no mains frequency", x), "check its scale: 50 or 60 Hz should come out"
}

var misfitMends = [...]string{
	evidence.OddAngle:      "check its unit, its scale, and which of lag and lead is positive",
	evidence.Radians:       "it looks like radians: add `unit: rad`",
	evidence.Tenths:        "it looks like tenths of a degree: add `scale: 0.1`",
	evidence.TenTimesSmall: "it looks ten times too small: multiply its scale by 10",
}

// currentFault says what contradicts a channel's current.
func currentFault(f verdict.CurrentFault) DataFault {
	d := DataFault{Point: fmt.Sprintf("current.%d", f.Channel)}
	if f.Balance {
		d.Fault = fmt.Sprintf("reads %.4g A, %.3g times the %.4g A that two legs alike would have it carry", f.Reads, 1/f.Step, f.Shown)
		d.Mend = "compare with a clamp: a CT ratio or a scale set wrong would do it, and so would a load"
		return d
	}
	if f.Over {
		d.Fault = fmt.Sprintf("reads %.4g A, %.3g times the %.4g A that its CT is rated for", f.Reads, f.Reads/f.Shown, f.Shown)
		d.Mend = "compare the CT's plate with the setting in the meter and with the job sheet, and check the scales of current and ct_primary in the map"
		return d
	}
	rated := fmt.Sprintf("a CT rated %.3g times what the meter is set for would do it", f.Step)
	if f.Neutral {
		d.Fault = fmt.Sprintf("the neutral carries %.4g A, and the legs add up to %.4g A", f.Shown, f.Reads)
		d.Mend = rated + "; compare with a clamp"
		return d
	}
	d.Fault = fmt.Sprintf("reads %.4g A where a clamp shows %.4g A", f.Reads, f.Shown)
	d.Mend = "check that the core is closed, and that it is round all of the conductor and round nothing else"
	if f.Step > 0 {
		d.Mend = rated + ", or one round a part of parallel conductors; else " + d.Mend
	}
	return d
}

// blamed is what isn't of conductors or loads, in words.
type blamed struct {
	words string // "the register map misreads the meter", in a clause
	mends []Mend
	ask   string // what to do about it, in a sentence
}

func inWords(j *verdict.Judgement, b *verdict.Blamed) blamed {
	switch {
	case b.Cause == CauseMap:
		return mapBlamed(j)
	case b.Open:
		return blamed{words: "the meter's neutral lead may be open: its inputs share the voltage between the legs, half to each",
			ask: "Have each leg measured against the panel's neutral: what is well above the meter's own reading means that the meter's " +
				"neutral lead is open"}
	case b.Plates:
		return blamed{words: ratingWords(j), ask: "Read the rating on the CTs' plates and the CT ratio that is set in the meter; " +
			"set the meter to the plates, and write it down"}
	}
	d := currentFault(*b.Ratio)
	if b.Ratio.Balance {
		return blamed{words: fmt.Sprintf("the CT ratio, or the scale, of %s may be wrong: it %s", d.Point, d.Fault),
			ask: fmt.Sprintf("Clamp the conductor of CT %d and say what it shows: --seen \"clamp leg %[1]d: 87.3 A\"", b.Ratio.Channel)}
	}
	if b.Ratio.Over {
		return blamed{words: fmt.Sprintf("the CT's rating, or a scale, is wrong: %s %s", d.Point, d.Fault),
			ask: "Read the rating on the CTs' plates, and compare it with the setting in the meter, " +
				"with the job sheet, and with the scales of current and ct_primary in the map"}
	}
	return blamed{words: fmt.Sprintf("the CT ratio of %s is wrong: %s", d.Point, d.Fault),
		ask: "Compare the plate of that CT with the ratio set in the meter, and see that its core is closed round all of its conductor"}
}

func mapBlamed(j *verdict.Judgement) blamed {
	b := blamed{words: "the register map misreads the meter", mends: []Mend{}}
	if !j.Misread.Taken {
		for _, m := range j.Misread.Mends {
			b.mends = append(b.mends, mendWords(m)...)
		}
	}
	for _, f := range j.Faults {
		d := dataFault(f)
		b.mends = append(b.mends, Mend{d.Point, d.Mend})
	}
	if len(b.mends) > 0 {
		b.words += fmt.Sprintf(": %s: %s", b.mends[0].Point, b.mends[0].Change)
	}
	b.ask = "Mend the map before anything in the panel is moved: `legwork map check MAP METER` says what fits the meter's registers, and --write COPY saves it"
	return b
}

func mendWords(m evidence.Mend) []Mend {
	point := m.Quantity.String()
	if m.Channel > 0 && m.Quantity.Scope() == reading.OncePerChannel {
		point = fmt.Sprintf("%s.%d", point, m.Channel)
	}
	switch m.Change {
	case evidence.Rescale:
		return ofPowers(m, fmt.Sprintf("multiply its scale by %.4g", m.Factor))
	case evidence.TurnOver:
		return []Mend{{point, "import and export are exchanged: turn `positive` over"}}
	case evidence.LagForLead:
		return []Mend{{reading.AngleOf.String(), "lag and lead are exchanged: turn `positive` over, for the reactive power too"}}
	case evidence.Reorder:
		return []Mend{{"order", "the words of values over 16 bits are in another order"}}
	case evidence.Exchange:
		if m.Other == 0 {
			return ofPowers(m, "the channels are numbered in another order: check the addresses of each")
		}
		return ofPowers(m, fmt.Sprintf("its address and that of channel %d are exchanged", m.Other))
	}
	if m.Quantity == 0 {
		return []Mend{{"at", "the addresses are off by one or by the width of a value, or the table is the other one"}}
	}
	return []Mend{{point, "check its address, its type and its scale: it fits nothing else that is read"}}
}

// ofPowers says the same of the reactive power where a mend is of both.
func ofPowers(m evidence.Mend, change string) []Mend {
	all := []Mend{{m.Quantity.String(), change}}
	if m.Powers {
		all = append(all, Mend{reading.Reactive.String(), change})
	}
	for i := range all {
		if m.Channel > 0 {
			all[i].Point = fmt.Sprintf("%s.%d", all[i].Point, m.Channel)
		}
	}
	return all
}

// ratingWords says that the CTs' plates and the meter's setting disagree.
func ratingWords(j *verdict.Judgement) string {
	set, plate := j.Reading.CTPrimary.Or(0), j.CTPrimary
	return fmt.Sprintf("the meter is set to CTs of %g A, and those fitted are of %g A: every current reads %.4g times what flows",
		set, plate, set/plate)
}

// partIt is what to do about readings of two meters.
const partIt = "part the file where the meter, or the wiring, changes, and judge each part by itself"
