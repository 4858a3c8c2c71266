package record

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"time"

	"legwork/diagnose"
)

// Version is the version of an entry's shape; it may grow, its fields keep
// their meaning.
const Version = 1

// Kind is what an entry records.
type Kind string

// The kinds.
const (
	AsFound Kind = "as-found" // readings and verdict before anything is moved
	AsLeft  Kind = "as-left"  // the same after the last move, held against the prediction
	Note    Kind = "note"     // moves, tests, manual reads and remarks of a person
	Struck  Kind = "struck"   // another entry counts no more; it stays, with this one

	OfPhaseTest Kind = "phase-test" // of the commands of these names, each with its Result
	OfLoadStep  Kind = "load-step"
	OfClamp     Kind = "clamp"
	OfPulses    Kind = "pulses"
	OfLedger    Kind = "ledger"
	OfEnergy    Kind = "energy"
)

// Entry is one line of a record. Lists that are empty are written as such;
// absent groups are null. Units are SI, angles degrees.
type Entry struct {
	Version  int     `json:"legwork-record"`
	Number   int     `json:"number"`   // from 1; set by Append
	Previous *string `json:"previous"` // seal of the line before; null for the first; set by Append

	Kind  Kind      `json:"kind"`
	At    time.Time `json:"at"`
	Site  string    `json:"site"`
	Panel string    `json:"panel"`
	By    string    `json:"by"` // the technician that the sheet names

	Sheet    *File             `json:"sheet"`
	Meter    *Meter            `json:"meter"`
	Map      *File             `json:"map"`
	Readings []json.RawMessage `json:"readings"`         // lines of a capture, those that the verdict is from
	Verdict  *diagnose.Result  `json:"verdict"`          // its explanations hold the prediction
	Seen     []string          `json:"seen"`             // results of tests that were weighed with the readings
	Compared []Compared        `json:"compared"`         // as left: what was predicted against what is read
	Against  int               `json:"against,omitzero"` // number of the entry that predicted it

	Result *Result `json:"result"` // of a command other than diagnose
	Typed  []Typed `json:"typed"`  // the flags that it was given
	Files  []File  `json:"files"`  // what it read: a capture, a worksheet, a ledger

	Strikes  *Strike  `json:"strikes"` // of the kind struck, else null
	Moves    []string `json:"moves"`
	Tests    []string `json:"tests"`
	Reads    []Read   `json:"reads"`
	Remarks  []string `json:"remarks"`
	Cautions []string `json:"cautions"` // what legwork noticed: another meter, another map, another rating
}

// Strike says which entry counts no more, and why.
type Strike struct {
	Number int    `json:"number"`
	Why    string `json:"why"`
}

// File is a file as it was when the entry was made.
type File struct {
	Name   string `json:"file"`
	SHA256 string `json:"sha256"` // of its bytes, in hexadecimal
	// Bytes is its length: a capture may have grown since. 0 is not said.
	Bytes int64 `json:"bytes,omitzero"`
}

// Meter says which meter answered. Empty texts are what it doesn't tell.
type Meter struct {
	Address  string `json:"address"` // METER
	Serial   string `json:"serial"`  // from its registers
	Model    string `json:"model"`   // from its registers
	Vendor   string `json:"vendor"`  // of its device identification (function 43/14), as the rest
	Product  string `json:"product"`
	Revision string `json:"revision"`
}

// Seal is the SHA-256 of some bytes, such as a line without its end, in
// hexadecimal.
func Seal(b []byte) string {
	sum := sha256.Sum256(b)
	return hex.EncodeToString(sum[:])
}

// line is the entry as it is written, without its end.
func (e *Entry) line() ([]byte, error) {
	for _, list := range []*[]string{&e.Seen, &e.Moves, &e.Tests, &e.Remarks, &e.Cautions} {
		*list = written(*list)
	}
	e.Readings, e.Compared, e.Reads = written(e.Readings), written(e.Compared), written(e.Reads)
	e.Typed, e.Files = written(e.Typed), written(e.Files)
	return json.Marshal(e)
}

// written is a list as it is written: an empty one too.
func written[T any](list []T) []T {
	if list == nil {
		return []T{}
	}
	return list
}
