package record

// Shown is a record for programs; it may grow, its fields keep their meaning.
type Shown struct {
	Unbroken bool        `json:"unbroken"`
	LastSeal string      `json:"last_seal"`
	Findings []string    `json:"findings"`
	Remarks  []string    `json:"remarks"`
	Files    []Cited     `json:"files"`            // that entries are from and that aren't as they were
	Entries  []ShownLine `json:"entries,omitzero"` // left out where they aren't asked for
}

// ShownLine is an entry with the seal of its line.
type ShownLine struct {
	Seal  string `json:"seal"`
	Entry Entry  `json:"entry"`
}

// Shown gives what is known of the record, without its entries.
func (l *Log) Shown() Shown {
	return Shown{Unbroken: len(l.Findings) == 0, LastSeal: l.LastSeal(), Findings: written(l.Findings),
		Remarks: written(l.Remarks), Files: written(l.Cited)}
}

// ShownWhole gives the entries too.
func (l *Log) ShownWhole() Shown {
	s := l.Shown()
	s.Entries = make([]ShownLine, 0, len(l.Entries))
	for _, e := range l.Entries {
		s.Entries = append(s.Entries, ShownLine{e.Seal, e.Entry})
	}
	return s
}
