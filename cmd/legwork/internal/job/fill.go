package job

import (
	"bytes"
	"fmt"
	"regexp"

	"legwork/cmd/legwork/internal/source"
	"legwork/probe/sheet"
)

// Value is what is to stand after a name of a sheet, such as `meter:`.
type Value struct{ Name, Text string }

// Fill writes values into a sheet that a person wrote. Only bytes are added: a
// blank line is filled in, a name that isn't there comes at the end. A METER in
// short gives way to the same one in full; another value that stands there is
// refused, and so is a sheet that would then read otherwise.
func Fill(file string, src []byte, values ...Value) ([]byte, error) {
	for _, v := range values {
		next, err := fill(file, src, v)
		if err != nil {
			return nil, err
		}
		src = next
	}
	return src, nil
}

// Fillable reports why nothing can be written into a sheet.
func Fillable(file string, src []byte) error {
	_, _, err := entries(file, src)
	return err
}

// entries gives a sheet's top-level lines; the error is that it is none.
func entries(file string, src []byte) (map[string]sheet.Node, *sheet.Sheet, error) {
	s, root := sheet.Open(file, src)
	found := map[string]sheet.Node{}
	for _, e := range root.Entries() {
		found[e.Name] = e.Value
	}
	if err := s.Err(); err != nil {
		return nil, nil, err
	}
	if !found["legwork-job"].Is() {
		return nil, nil, fmt.Errorf("%s: this is no job sheet: it has no line `legwork-job: 1`; `legwork job new FILE.yaml` "+
			"makes one", file)
	}
	return found, s, nil
}

func fill(file string, src []byte, v Value) ([]byte, error) {
	found, _, err := entries(file, src)
	if err != nil {
		return nil, err
	}
	at, is := found[v.Name]
	out := src
	switch text, _ := at.Text(); {
	case is && !at.Blank() && text == v.Text:
		return src, nil
	case !is:
		out = appended(src, v)
	case at.Blank(), v.Name == "meter" && fullOf(text, v.Text):
		line, _ := at.AtKey().Position()
		out = replaced(src, line, v)
	default:
		line, column := at.Position()
		return nil, fmt.Errorf("%s:%d:%d: %q is here already and is left alone; `%s: %s` was found",
			file, line, column, text, v.Name, v.Text)
	}
	after, _, err := entries(file, out)
	if text, ok := after[v.Name].Text(); err != nil || !ok || text != v.Text || len(after) != len(found)+absent(is) {
		return nil, fmt.Errorf("%s: this sheet is written in a way that can't be added to; write `%s: %s` into it yourself",
			file, v.Name, v.Text)
	}
	return out, nil
}

func absent(is bool) int {
	if is {
		return 0
	}
	return 1
}

// fullOf reports a METER in short, and one in full that leads to the same place.
func fullOf(short, full string) bool {
	s, err := source.Parse(short)
	f, err2 := source.Parse(full)
	return err == nil && err2 == nil && s.Short() && s.Place() == f.Place()
}

// appended has a further line at the end, ended as the others are.
func appended(src []byte, v Value) []byte {
	end := "\n"
	if bytes.Contains(src, []byte("\r\n")) {
		end = "\r\n"
	}
	out := bytes.Clone(src)
	if len(out) > 0 && !bytes.HasSuffix(out, []byte("\n")) {
		out = append(out, end...)
	}
	return fmt.Appendf(out, "%s:%s%s", v.Name, quote(v.Text), end)
}

// valueLine is a line of a sheet with a value of one word, or none, and what a
// person may have remarked behind it.
var valueLine = regexp.MustCompile(`^(\x{FEFF}?[a-z_"']+[ \t]*:)[ \t]*?` +
	`(?:'[^']*'|"[^"]*"|[^#\s"']\S*)?([ \t]+#.*|[ \t]*)(\r?\n?)$`)

// replaced has a value in a line of its own.
func replaced(src []byte, line int, v Value) []byte {
	lines := bytes.SplitAfter(src, []byte("\n"))
	if line > len(lines) {
		return src
	}
	parts := valueLine.FindSubmatch(lines[line-1])
	if parts == nil {
		return src
	}
	lines[line-1] = fmt.Appendf(nil, "%s%s%s%s", parts[1], quote(v.Text), parts[2], parts[3])
	return bytes.Join(lines, nil)
}
