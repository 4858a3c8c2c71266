package regmap

import (
	"fmt"

	"legwork/probe/reading"
)

// SunSpec is an open standard in which a meter describes itself by a chain of
// models, so that it needs no register map. Identifiers, offsets and types are
// those of the model files of its information models (sunspec/models, 7abdf89,
// json/model_N.json, Apache-2.0); 'not implemented' values those of
// sunspec/pysunspec2, sunspec2/mb.py, f2ece9a (Apache-2.0). That positive power
// flows to the load, and positive reactive power lags, is from memory.

// The marker "SunS" that stands before the first model, where it may stand, and
// what ends the chain (pysunspec2, modbus/client.py).
const (
	SunSpecMarker = 0x53756E53
	SunSpecEnd    = 0xFFFF
)

// SunSpecBases are where the marker may stand, likeliest first.
func SunSpecBases() []uint16 { return []uint16{40000, 0, 50000} }

// SunSpecModel is one model of a chain.
type SunSpecModel struct {
	ID      int
	Address int // of the register that holds ID
	Length  int // registers after ID and length
}

const (
	sunCommon = 1
	// shortCommon is the common model's length without its pad register, which
	// some devices leave out.
	shortCommon = 65

	absent16   = 0x8000
	absentU16  = 0xFFFF
	absentSum  = 0 // of an accumulator
	noExponent = -1
)

// sunPhases is how many channels a meter model has: single-phase, split-phase,
// wye, delta; integers with scale factors, or floats.
//
// Of the delta models 204 and 214 only a four-wire delta can be judged, whose
// meter fills in the voltages and powers of the phases to neutral. A three-wire
// delta is measured between legs (AB with the CT of leg A, CB with that of leg
// C), and the models have no place for the power of such an element: from them
// come currents, voltages between legs and totals, which say whether something
// is there, and not on which leg or which way round. Such a meter needs a map of
// its own registers.
var sunPhases = map[int]int{201: 1, 202: 2, 203: 3, 204: 3, 211: 1, 212: 2, 213: 3, 214: 3}

// sunPoint is where a quantity stands in a model, counted from ID. Where it is
// per channel, step is the distance of the next one.
type sunPoint struct {
	quantity   reading.Quantity
	at, step   int
	exponentAt int
	kind       Type
	absent     Raw
}

// The integer models 201 to 204 share their offsets.
var sunIntegers = []sunPoint{
	{reading.Current, 3, 1, 6, S16, absent16},
	{reading.Voltage, 8, 1, 15, S16, absent16},
	{reading.LineVoltage, 12, 1, 15, S16, absent16},
	{reading.Frequency, 16, 0, 17, S16, absent16},
	{reading.TotalPower, 18, 0, 22, S16, absent16},
	{reading.Power, 19, 1, 22, S16, absent16},
	{reading.Apparent, 24, 1, 27, S16, absent16},
	{reading.TotalReactive, 28, 0, 32, S16, absent16},
	{reading.Reactive, 29, 1, 32, S16, absent16},
	{reading.PowerFactor, 34, 1, 37, S16, absent16},
	{reading.TotalEnergyExport, 38, 0, 54, U32, absentSum},
	{reading.EnergyExport, 40, 2, 54, U32, absentSum},
	{reading.TotalEnergyImport, 46, 0, 54, U32, absentSum},
	{reading.EnergyImport, 48, 2, 54, U32, absentSum},
}

// The float models 211 to 214.
var sunFloats = []sunPoint{
	{reading.Current, 4, 2, noExponent, F32, 0},
	{reading.Voltage, 12, 2, noExponent, F32, 0},
	{reading.LineVoltage, 20, 2, noExponent, F32, 0},
	{reading.Frequency, 26, 0, noExponent, F32, 0},
	{reading.TotalPower, 28, 0, noExponent, F32, 0},
	{reading.Power, 30, 2, noExponent, F32, 0},
	{reading.Apparent, 38, 2, noExponent, F32, 0},
	{reading.TotalReactive, 44, 0, noExponent, F32, 0},
	{reading.Reactive, 46, 2, noExponent, F32, 0},
	{reading.PowerFactor, 54, 2, noExponent, F32, 0},
	{reading.TotalEnergyExport, 60, 0, noExponent, F32, 0},
	{reading.EnergyExport, 62, 2, noExponent, F32, 0},
	{reading.TotalEnergyImport, 68, 0, noExponent, F32, 0},
	{reading.EnergyImport, 70, 2, noExponent, F32, 0},
}

// SunSpecMap makes the register map of a chain of models. The error is a chain
// without a meter among them.
func SunSpecMap(models []SunSpecModel) (*Map, error) {
	m := &Map{Meter: "SunSpec meter"}
	for _, one := range models {
		switch phases, isMeter := sunPhases[one.ID]; {
		case one.ID == sunCommon && one.Length >= shortCommon && one.Address+2+shortCommon <= 1<<16 && !m.has(reading.Serial):
			m.points = append(m.points,
				sunText(reading.Model, one.Address+18), sunText(reading.Serial, one.Address+50))
		case isMeter && !m.has(reading.Current):
			m.Meter = fmt.Sprintf("SunSpec meter, model %d", one.ID)
			m.addMeter(one, phases)
		}
	}
	if !m.has(reading.Current) {
		return nil, fmt.Errorf("the SunSpec models of this device hold no meter (201 to 204 or 211 to 214): %s",
			listModels(models))
	}
	return m, nil
}

func sunText(q reading.Quantity, at int) Point {
	return Point{Point: reading.Point{Quantity: q}, Address: at, Count: 16, Type: Text, ExponentAt: noExponent}
}

func (m *Map) addMeter(one SunSpecModel, phases int) {
	points := sunIntegers
	if one.ID > 210 {
		points = sunFloats
	}
	for _, s := range points {
		for _, index := range s.indices(phases) {
			if p := s.point(one, index); one.holds(p) {
				m.points = append(m.points, p)
			}
		}
	}
}

// holds reports a point that lies within the model as long as it says it is,
// and within the registers that there are: what follows is another model's.
func (one SunSpecModel) holds(p Point) bool {
	end := min(one.Address+2+one.Length, 1<<16)
	return p.Address+p.Count <= end && p.ExponentAt < end
}

// indices are those of the points of a quantity that so many phases have.
func (s sunPoint) indices(phases int) []int {
	switch s.quantity.Scope() {
	case reading.OncePerChannel:
		return []int{1, 2, 3}[:phases]
	case reading.OncePerPair:
		return []int{12, 23, 31}[:[]int{0, 0, 1, 3}[phases]]
	}
	return []int{0}
}

func (s sunPoint) point(one SunSpecModel, index int) Point {
	nth := map[int]int{2: 1, 3: 2, 23: 1, 31: 2}[index]
	p := Point{Point: reading.Point{Quantity: s.quantity, Index: index}, Address: one.Address + s.at + nth*s.step,
		Type: s.kind, Count: s.kind.registers(), Order: ABCD, Scale: 1, Factor: 1, ExponentAt: noExponent}
	if s.exponentAt > 0 {
		p.ExponentAt = one.Address + s.exponentAt
		p.Absent = []Raw{s.absent}
	}
	if s.quantity == reading.PowerFactor && !s.kind.float() {
		p.Factor, p.Unit = 0.01, "%" // percent in the integer models only
	}
	return p
}

func (m *Map) has(q reading.Quantity) bool {
	for _, p := range m.points {
		if p.Quantity == q {
			return true
		}
	}
	return false
}

func listModels(models []SunSpecModel) string {
	if len(models) == 0 {
		return "none at all"
	}
	text := ""
	for i, one := range models {
		if i > 0 {
			text += ", "
		}
		text += fmt.Sprint(one.ID)
	}
	return text
}

// SunSpecImage gives the registers of a device with one meter model, all values
// 'not implemented', and its chain: for a simulated meter.
func SunSpecImage(id int) (at uint16, words []uint16, models []SunSpecModel) {
	lengths := [...]SunSpecModel{{ID: sunCommon, Length: 66}, {ID: id, Length: 105}}
	if id > 210 {
		lengths[1].Length = 124
	}
	at = SunSpecBases()[0]
	words = []uint16{SunSpecMarker >> 16, SunSpecMarker & 0xFFFF}
	for _, one := range lengths {
		one.Address = int(at) + len(words)
		models = append(models, one)
		words = append(words, uint16(one.ID), uint16(one.Length))
		for i := range one.Length {
			words = append(words, unimplemented(one.ID, i+2))
		}
	}
	return at, append(words, SunSpecEnd, 0), models
}

// unimplemented is what stands at an offset of a model that gives no value.
func unimplemented(id, offset int) uint16 {
	switch {
	case id == sunCommon, id < 210 && offset >= 38 && offset < 54, id < 210 && offset > 54:
		return 0
	case id < 210:
		return absent16
	case offset%2 == 0 && offset < 124:
		return 0x7FC0 // NaN
	}
	return 0
}
