package fleet

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"strings"
)

const header = "name,meter,map,service,site,under"

// IsSites says by how a file begins whether it is a list of simulated meters.
func IsSites(begins []byte) bool {
	first, rest, _ := strings.Cut(string(begins), "\n")
	second, _, _ := strings.Cut(rest, "\n")
	return first == header && strings.Contains(second, "://127.0.0.1:")
}

// IsTruth says by how a file begins whether it is the truth of a list.
func IsTruth(begins []byte) bool {
	first, _, _ := bytes.Cut(begins, []byte("\n"))
	return bytes.HasPrefix(first, []byte(`{"name":"`)) && bytes.Contains(first, []byte(`,"place":"`))
}

// Sites is the list of the meters, as `survey` reads it; the register maps
// stand beside it.
func (f *Fleet) Sites() []byte {
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	_ = w.Write(strings.Split(header, ",")) // to memory
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
