package sheet

import (
	"bytes"
	"encoding/json"
	"math"
	"strconv"
)

// SchemaOptions are what the rules of a format don't say of it.
type SchemaOptions struct {
	Title   string
	Comment string // who wrote the schema
	// Lenient says that a name without a value counts as one that isn't there, as
	// Node.Lenient does.
	Lenient bool
	Rows    bool // the file is a table, a mapping a row
}

// Schema is the table of a format as JSON Schema (draft 7, which every editor's
// YAML server reads). It accepts what Decode accepts; what tags can't say, such
// as registers that overlap, it doesn't refuse.
func Schema(rules []Rule, o SchemaOptions) []byte {
	s := object(rules, o.Lenient)
	if o.Rows {
		s = &schema{Type: "array", Items: s}
	}
	s.Dialect, s.Comment, s.Title = "http://json-schema.org/draft-07/schema#", o.Comment, o.Title
	var b bytes.Buffer
	out := json.NewEncoder(&b)
	out.SetEscapeHTML(false)
	out.SetIndent("", "  ")
	if err := out.Encode(s); err != nil {
		panic(err) // a schema is of texts and finite numbers
	}
	return b.Bytes()
}

// schema has the words of JSON Schema that formats need.
type schema struct {
	Comment  string     `json:"$comment,omitempty"`
	Dialect  string     `json:"$schema,omitempty"`
	Title    string     `json:"title,omitempty"`
	Doc      string     `json:"description,omitempty"`
	Type     any        `json:"type,omitempty"` // one, or a list of them
	Const    any        `json:"const,omitempty"`
	Enum     []string   `json:"enum,omitempty"`
	Pattern  string     `json:"pattern,omitempty"`
	Low      *float64   `json:"minimum,omitempty"`
	High     *float64   `json:"maximum,omitempty"`
	AnyOf    []*schema  `json:"anyOf,omitempty"`
	Items    *schema    `json:"items,omitempty"`
	Required []string   `json:"required,omitempty"`
	Names    *schema    `json:"propertyNames,omitempty"`
	Fields   properties `json:"properties,omitempty"`
	Others   any        `json:"additionalProperties,omitempty"` // false, or the schema of each
}

// properties keep the order of the format, in which editors offer them.
type properties []property

type property struct {
	name  string
	value *schema
}

// MarshalJSON writes an object.
func (p properties) MarshalJSON() ([]byte, error) {
	b := bytes.NewBufferString("{")
	for i, one := range p {
		value, err := json.Marshal(one.value)
		if err != nil {
			return nil, err
		}
		if i > 0 {
			b.WriteByte(',')
		}
		b.WriteString(strconv.Quote(one.name) + ":")
		b.Write(value)
	}
	b.WriteByte('}')
	return b.Bytes(), nil
}

func object(rules []Rule, lenient bool) *schema {
	s := &schema{Type: "object", Others: false}
	for _, r := range rules {
		for _, name := range r.Names {
			value := r.schema(lenient)
			value.Doc = r.Doc
			s.Fields = append(s.Fields, property{name, value})
			if r.Need != "" || r.Must {
				s.Required = append(s.Required, name)
			}
		}
	}
	return s
}

// blank is what Node.Blank reports.
var blank = &schema{Type: []string{"null", "string"}, Pattern: `^\s*$`}

// schema is what may stand under the rule's name.
func (r Rule) schema(lenient bool) *schema {
	s := r.kindSchema(r.Kind, lenient)
	if !lenient || r.Need != "" {
		return s
	}
	return &schema{AnyOf: []*schema{s, blank}}
}

func (r Rule) kindSchema(kind string, lenient bool) *schema {
	switch kind {
	case "array": // a single value counts as a list of one
		item := r.kindSchema(r.Items, lenient)
		return &schema{AnyOf: []*schema{{Type: "array", Items: item}, item}}
	case "object":
		if r.Items == "" {
			return object(r.Inner, lenient)
		}
		s := &schema{Type: "object"}
		if r.Keys != nil {
			s.Names = &schema{Enum: r.Keys}
		}
		value := r
		value.Kind, value.Items = r.Items, ""
		s.Others = value.schema(lenient)
		return s
	case "integer", "number":
		s := &schema{Type: kind, Low: finite(r.Low), High: finite(r.High)}
		if version, err := strconv.Atoi(r.Need); err == nil {
			s.Const = version
		}
		return s
	case "boolean":
		return &schema{Type: kind}
	}
	switch {
	case r.Of != nil:
		return &schema{Enum: r.Of}
	case kind == "string":
		return &schema{Type: []string{"string", "number", "boolean"}} // see Node.Text
	}
	return &schema{}
}

func finite(x float64) *float64 {
	if math.IsInf(x, 0) {
		return nil
	}
	return &x
}
