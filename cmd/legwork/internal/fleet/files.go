package fleet

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
)

// Sites is the list of the meters, as `survey` reads it; the register maps
// stand beside it.
func (f *Fleet) Sites() []byte {
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	_ = w.Write([]string{"name", "meter", "map", "service", "site", "under"}) // to memory
	for _, m := range f.Meters {
		_ = w.Write([]string{m.Name, m.METER, m.Map, m.Place.Service(), m.Building, m.Under})
	}
	w.Flush()
	return b.Bytes()
}

// Truth says of one meter what is really there.
type Truth struct {
	Name    string `json:"name"`
	Place   string `json:"place"`
	Fault   string `json:"fault"` // a list of mistakes; empty for right wiring
	Answers bool   `json:"answers"`
	Gateway Manner `json:"gateway"`
}

// Truth is a JSON object a line for each meter.
func (f *Fleet) Truth() []byte {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	for _, m := range f.Meters {
		_ = e.Encode(Truth{m.Name, m.Place.Title(), m.Fault, !m.Silent, m.Manner}) // to memory
	}
	return b.Bytes()
}
