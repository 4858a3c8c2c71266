package report

import (
	"bytes"
	_ "embed" // the templates
	"html/template"
	"io"
	"strings"
	texttemplate "text/template"
)

//go:embed page.html
var pageSource string

//go:embed page.css
var pageStyle string

//go:embed report.md.tmpl
var markdownSource string

// HTML writes the page.
func (r *Report) HTML(w io.Writer) error {
	t, err := template.New("page").Parse(pageSource)
	if err != nil {
		return err
	}
	return whole(w, t, struct {
		*view
		Style template.CSS
	}{r.view(), template.CSS(Style())})
}

// Markdown writes the report as CommonMark with tables.
func (r *Report) Markdown(w io.Writer) error {
	t, err := texttemplate.New("markdown").Funcs(texttemplate.FuncMap{"e": markdown,
		"from1": func(i int) int { return i + 1 }}).Parse(markdownSource)
	if err != nil {
		return err
	}
	return whole(w, t, r.view())
}

// whole executes a template and writes what it gives only if all went well.
func whole(w io.Writer, t interface {
	Execute(io.Writer, any) error
}, data any) error {
	var b bytes.Buffer
	if err := t.Execute(&b, data); err != nil {
		return err
	}
	_, err := w.Write(b.Bytes())
	return err
}

// markdown escapes a text within a line or a cell: CommonMark 0.31,
// 2.4 (backslash escapes) and 2.5 (entities).
func markdown(s string) string {
	return markdownEscapes.Replace(strings.Join(strings.Fields(s), " "))
}

var markdownEscapes = strings.NewReplacer(`\`, `\\`, "`", "\\`", "*", `\*`, "_", `\_`, "[", `\[`, "]", `\]`, "|", `\|`,
	"#", `\#`, "~", `\~`, "!", `\!`,
	"<", "&lt;", ">", "&gt;", "&", "&amp;")
