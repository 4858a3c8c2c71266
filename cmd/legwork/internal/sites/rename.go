package sites

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
)

// Rename gives a sites file in which a meter has another name, in its own row
// and in every `under`, and a further note where there is such a column. All
// else stays as it is, to the byte. The error says why not.
func Rename(file string, src []byte, from, to, note string) ([]byte, error) {
	body := bytes.TrimPrefix(src, []byte("\xEF\xBB\xBF"))
	in := csv.NewReader(bytes.NewReader(body))
	in.FieldsPerRecord, in.Comma = -1, comma(body)
	out := bytes.NewBuffer(src[: len(src)-len(body) : len(src)-len(body)])
	var header []string
	found := false
	for begin := int64(0); ; begin = in.InputOffset() {
		cells, err := in.Read()
		if errors.Is(err, io.EOF) {
			out.Write(body[begin:])
			break
		}
		if err != nil {
			return nil, fmt.Errorf("%s: %w", file, err)
		}
		raw := body[begin:in.InputOffset()]
		if header == nil {
			for _, c := range cells {
				header = append(header, strings.TrimSpace(c))
			}
			out.Write(raw)
			continue
		}
		r := renaming{header, cells, from, to, note}
		if r.get("name") == to && from != to {
			return nil, fmt.Errorf("%s: there is a meter %q already", file, to)
		}
		found = found || r.get("name") == from
		if !r.change() {
			out.Write(raw)
			continue
		}
		r.write(out, raw, in.Comma)
	}
	if !found {
		return nil, fmt.Errorf("%s: there is no meter %q", file, from)
	}
	return out.Bytes(), nil
}

// renaming is one record of a file in which a meter gets another name.
type renaming struct {
	header, cells  []string
	from, to, note string
}

func (r *renaming) at(column string) int {
	i := slices.Index(r.header, column)
	if i >= len(r.cells) {
		return -1
	}
	return i
}

func (r *renaming) get(column string) string {
	if i := r.at(column); i >= 0 {
		return strings.TrimSpace(r.cells[i])
	}
	return ""
}

// change reports that the record is to be written anew.
func (r *renaming) change() bool {
	changed := false
	if r.get("name") == r.from {
		r.cells[r.at("name")], changed = r.to, true
		if i := r.at("note"); i >= 0 && r.note != "" {
			r.cells[i] = strings.TrimPrefix(r.cells[i]+"; "+r.note, "; ")
		}
	}
	if r.get("under") == r.from {
		r.cells[r.at("under")], changed = r.to, true
	}
	return changed
}

// write encodes the record, with the line's end that it had.
func (r *renaming) write(out *bytes.Buffer, raw []byte, comma rune) {
	out.Write(raw[:len(raw)-len(bytes.TrimLeft(raw, "\r\n"))]) // blank lines before it
	w := csv.NewWriter(out)
	w.Comma, w.UseCRLF = comma, bytes.HasSuffix(raw, []byte("\r\n"))
	_ = w.Write(r.cells) // to memory
	w.Flush()
	if !bytes.HasSuffix(raw, []byte("\n")) {
		out.Truncate(out.Len() - 1)
	}
}
