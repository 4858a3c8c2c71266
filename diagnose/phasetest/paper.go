package phasetest

// Paper is the worksheet of a test: what to read, and what it should be.
type Paper struct {
	Legwork  int        `json:"legwork"`
	Service  string     `json:"service"`
	Method   string     `json:"method"` // "live" or "dead"
	Cautions []string   `json:"cautions"`
	Steps    []string   `json:"steps"`
	Readings []Expected `json:"readings"`
}

// Paper makes the worksheet.
func (t Test) Paper() Paper {
	return Paper{ResultVersion, t.Service.Name, t.method(), t.Cautions(), t.Steps(), t.Expected()}
}
