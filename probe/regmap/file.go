package regmap

import (
	"legwork/probe/reading"
	"legwork/probe/sheet"
)

// file is a register map as a person writes it. Its tags are the table of the
// format (sheet.Rule); what they can't say is in parse.go and parsepoint.go.
type file struct {
	Version   sheet.Int            `sheet:"legwork-map" is:"a register map" version:"the map" need:"1" doc:"Version."`
	Meter     string               `sheet:"meter" doc:"What people call the meter."`
	Unit      sheet.Int            `sheet:"unit" from:"0" to:"255" doc:"Modbus unit identifier: 1 to 247, or 255."`
	Table     string               `sheet:"table" of:"holding input" doc:"Table of the points that name none."`
	Numbering string               `sheet:"numbering" of:"address reference" doc:"From 0 as on the wire, or data-model numbers."`
	Order     Order                `sheet:"order" of:"ABCD CDAB BADC DCBA" doc:"Byte order of the points that name none."`
	Points    sheet.Map[filePoint] `sheet:"points" must:"yes" doc:"The points, by names such as power.1."`
}

// filePoint is one of its points.
type filePoint struct {
	At         sheet.Int              `sheet:"at" must:"yes" from:"0" blank:"write its first register, or take the line out" mend:"registers count from 0 as on the wire; with data-model numbers write numbering: reference" doc:"First register."`
	Type       sheet.Field[Type]      `sheet:"type" must:"yes" of:"u16 s16 u32 s32 u64 s64 f32 f64 text" doc:"How the value stands."`
	Length     sheet.Int              `sheet:"length" from:"1" to:"125" doc:"Registers of a text, two letters each."`
	Unit       sheet.Text             `sheet:"unit" doc:"Unit of the scaled value; the SI unit where it isn't given."`
	Scale      sheet.Number           `sheet:"scale" doc:"What one step of the register is worth."`
	Offset     sheet.Number           `sheet:"offset" doc:"Added after scaling, in the unit."`
	ExponentAt sheet.Int              `sheet:"exponent_at" from:"0" mend:"registers count from 0 as on the wire" doc:"Register of a power of ten."`
	Absent     sheet.List[sheet.Node] `sheet:"absent" kind:"number" doc:"Raw value, or a list of them, that means not available."`
	Positive   sheet.Node             `sheet:"positive" of:"import export lag lead" doc:"What a positive value means."`
	Order      sheet.Field[Order]     `sheet:"order" of:"ABCD CDAB BADC DCBA" doc:"Order of bytes; A is the highest."`
	Table      string                 `sheet:"table" of:"holding input" doc:"Table of registers."`
	Sign       sheet.Node             `sheet:"sign" of:"none power lag lead" doc:"What the sign of a power factor says."`
}

// Rules is the table of the format.
func Rules() []sheet.Rule {
	rules := sheet.Rules(file{})
	for i := range rules {
		if r := &rules[i]; r.Names[0] == "points" {
			r.Keys = pointNames()
		}
	}
	return rules
}

func pointNames() []string {
	var names []string
	for _, p := range reading.Points() {
		names = append(names, p.String())
	}
	return names
}
