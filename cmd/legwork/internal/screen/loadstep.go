package screen

import (
	"fmt"
	"io"

	"legwork/cmd/legwork/internal/record"
)

// LoadStep writes what a led load step showed, and the sentences that hand it to
// the diagnosis.
func LoadStep(out io.Writer, r record.LoadStep, s Style) error {
	w := &writer{Style: s, out: out}
	w.line(r.Says)
	for _, text := range r.Seen {
		w.line(fmt.Sprintf("--seen %q", text))
	}
	for _, text := range r.IfCertain {
		w.line(fmt.Sprintf("If it was on leg %d for certain: --seen %q", r.Leg, text))
	}
	return w.err
}
