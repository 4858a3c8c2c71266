// Package surveypage writes a survey as one page that needs nothing else: it is
// read without scripts, and a small one sorts it.
package surveypage

import (
	"bytes"
	"crypto/sha256"
	_ "embed" // the page
	"encoding/base64"
	"fmt"
	"html/template"
	"io"

	"legwork/cmd/legwork/internal/card"
	"legwork/cmd/legwork/internal/report"
	"legwork/cmd/legwork/internal/survey"
)

//go:embed page.html
var source string

//go:embed sort.js
var script string

// view is what the template takes.
type view struct {
	*survey.Result
	Style  template.CSS
	Script template.JS
	Policy string
	Made   string
	Rows   []row
}

// row is one meter.
type row struct {
	Name, Site, Status, Sign, Summary string
	Lost, Interval                    string
	Rank                              int // by lost power
	Urgent                            int
	Card                              card.Card
}

// Is says by how a file begins whether it is such a page.
func Is(begins []byte) bool {
	return bytes.Contains(begins, []byte(`<meta name="generator" content="legwork survey">`))
}

// Write writes the page, or nothing where it fails.
func Write(w io.Writer, r *survey.Result) error {
	t, err := card.Template().New("page").Parse(source)
	if err != nil {
		return err
	}
	sum := sha256.Sum256([]byte(script))
	v := view{Result: r, Style: template.CSS(card.Style()), Script: template.JS(script),
		Made: r.At.Format("2006-01-02 15:04:05 -07:00"),
		Policy: "default-src 'none'; style-src 'unsafe-inline'; script-src 'sha256-" +
			base64.StdEncoding.EncodeToString(sum[:]) +
			"'; base-uri 'none'; form-action 'none'"}
	for i := range r.Meters {
		v.Rows = append(v.Rows, rowOf(&r.Meters[i], i))
	}
	var b bytes.Buffer
	if err := t.Execute(&b, v); err != nil {
		return err
	}
	_, err = w.Write(b.Bytes())
	return err
}

func rowOf(m *survey.Meter, i int) row {
	c := card.Of(m, fmt.Sprintf("m%d", i))
	o := row{Name: report.Shown(m.Name), Site: report.Shown(m.Site), Status: string(m.Status), Sign: card.Signs[m.Status],
		Summary: c.Summary, Rank: i, Urgent: survey.Urgency[m.Status], Card: c}
	if x, known := m.Lost.Get(); known {
		o.Lost = survey.KW(x)
		o.Interval = fmt.Sprintf("%s to %s", survey.KW(m.Low.Or(x)), survey.KW(m.High.Or(x)))
	}
	return o
}
