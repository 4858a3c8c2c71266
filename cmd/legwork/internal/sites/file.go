package sites

import "legwork/probe/sheet"

// file is a row as a person writes it. Its tags are the table of the format
// (sheet.Rule): the columns, and what they hold; a row is read by row.go, since a
// list may have a million.
type file struct {
	Name       string `sheet:"name" must:"yes" doc:"Name of the meter, which no other row has."`
	Meter      string `sheet:"meter" must:"yes" doc:"METER, such as tcp://HOST/UNIT, or a job sheet."`
	Map        string `sheet:"map" doc:"File of the register map, counted from this one, or sunspec."`
	Service    string `sheet:"service" doc:"Service of the panel, such as 120/208Y."`
	Generation string `sheet:"generation" of:"unknown none possible" doc:"Whether power may flow back to the supply."`
	Load       string `sheet:"load" doc:"What is behind the meter: motors, heating, lighting and so on."`
	Site       string `sheet:"site" doc:"What groups meters, such as a building."`
	Under      string `sheet:"under" doc:"Name of the meter above this one."`
	CTPrimary  string `sheet:"ct_primary" doc:"Rated primary current of the CTs, such as 200 A."`
	Note       string `sheet:"note" doc:"What else there is to say."`
	Wire       string `sheet:"wire" doc:"Name of the wire, where the METER doesn't tell it."`
}

// Rules is the table of the format.
func Rules() []sheet.Rule { return sheet.Rules(file{}) }

// The columns that a header may have, those that it must have, and the words of
// those that have few.
var columns, wanted, words = table()

func table() (all, must []string, of map[string][]string) {
	of = map[string][]string{}
	for _, r := range Rules() {
		name := r.Names[0]
		all, of[name] = append(all, name), r.Of
		if r.Must {
			must = append(must, name)
		}
	}
	return all, must, of
}
