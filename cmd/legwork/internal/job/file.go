package job

import "legwork/probe/sheet"

// file is a job sheet as a person writes it, in the order in which a blank one
// has its names. Its tags are the table of the format (sheet.Rule); what they
// can't say is in parse.go.
type file struct {
	Version    sheet.Int          `sheet:"legwork-job" is:"a job sheet" version:"the job sheet" need:"1" doc:"Version."`
	Site       string             `sheet:"site" doc:"Where the panel is."`
	Panel      string             `sheet:"panel" doc:"What people call the panel."`
	Metered    Metered            `sheet:"metered" of:"mains branch" doc:"What the meter measures."`
	Service    sheet.Text         `sheet:"service" doc:"Service of the panel, such as 120/208Y."`
	Meter      sheet.Text         `sheet:"meter" doc:"METER, such as tcp://HOST/UNIT."`
	Map        sheet.Text         `sheet:"map" doc:"File of the register map, counted from the sheet."`
	CTs        fileCTs            `sheet:"cts" doc:"The current transformers."`
	Legs       sheet.Map[string]  `sheet:"legs" keys:"1 2 3 neutral earth" doc:"Colour of each conductor: 1, 2, 3, neutral, earth."`
	Breaker    string             `sheet:"reference_breaker" doc:"Breaker or fuses of the reference voltage."`
	Generation string             `sheet:"generation" of:"unknown none possible" doc:"Solar, a battery or a generator that may give power back."`
	Load       sheet.Text         `sheet:"load" doc:"What is behind the meter: motors, heating, lighting, electronics, drives, capacitors."`
	MinCurrent sheet.Text         `sheet:"min_current" doc:"Below it a channel isn't judged, such as 1 A."`
	People     People             `sheet:"people" doc:"Those who sign."`
	Seen       sheet.List[string] `sheet:"seen" doc:"What tests showed before anything was moved."`
	Remarks    string             `sheet:"remarks" doc:"What else there is to say."`
}

// fileCTs are its current transformers.
type fileCTs struct {
	Output    Output     `sheet:"output" of:"current voltage" doc:"What their secondaries put out."`
	Secondary sheet.Text `sheet:"secondary" doc:"Rated secondary, such as 5 A or 333 mV."`
	Primary   sheet.Text `sheet:"primary" doc:"Rated primary, such as 200 A."`
}

// Rules is the table of the format.
func Rules() []sheet.Rule { return sheet.Rules(file{}) }
