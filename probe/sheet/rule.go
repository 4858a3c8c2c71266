package sheet

import (
	"math"
	"reflect"
	"strconv"
	"strings"
)

// Rule is one line of a format: what may stand under a name. The tags of a
// struct's field make it:
//
//	sheet:"at"        the name; several, parted by blanks, fill a map by name
//	of:"holding input" the texts that there are
//	from:"0" to:"255" the bounds of a number
//	mend:"..."        what would be right beyond the bounds, where these don't say it
//	blank:"write ..." what to do where nothing stands after the name
//	keys:"1 2 neutral" the names that a map with names of its own may have; its owner checks them
//	kind:"number"     what the items of a list of Nodes are, which its owner reads
//	must:"yes"        it must be there; its owner says so, in words of its own
//	need:"1"          it must be there; what to write after the name, and
//	is:"a ledger"     what a file is that has this first line
//	version:"the map" it is the version of a format, and need is the one that is read
//	doc:"..."         what it says, in one sentence
type Rule struct {
	Names     []string // one; of a map, all that it may have
	Kind      string   // as JSON Schema calls it, or empty where anything may stand
	Items     string   // kind of the items of an array, or of the values of an object whose names are free
	Of        []string // the texts that there are; nil for any
	Keys      []string // the names that an object whose names are free may have; nil for any
	Low, High float64  // bounds of a number
	Need      string   // not empty: the name must be there
	Must      bool     // the name must be there, its owner says so
	Doc       string
	Inner     []Rule // what an object has, or each of the items

	is, version, mend, blank string

	index int // of the field
}

// Rules is the table of a format, from the struct that Decode fills. The struct
// must not hold itself.
func Rules(of any) []Rule { return rulesOf(reflect.TypeOf(of)) }

func rulesOf(t reflect.Type) []Rule {
	var all []Rule
	for i := range t.NumField() {
		f := t.Field(i)
		if names, ok := f.Tag.Lookup("sheet"); ok {
			get := f.Tag.Get
			r := Rule{Names: strings.Fields(names), Of: texts(get("of")), Keys: texts(get("keys")), Need: get("need"),
				Must: get("must") != "", Doc: get("doc"), is: get("is"), version: get("version"), mend: get("mend"),
				blank: get("blank"), index: i}
			r.Low, r.High = bound(get("from"), math.Inf(-1)), bound(get("to"), math.Inf(1))
			r.describe(f.Type)
			if kind := get("kind"); kind != "" {
				r.Items = kind
			}
			all = append(all, r)
		}
	}
	return all
}

// texts are the words of a tag; nil where it has none.
func texts(tag string) []string {
	if tag == "" {
		return nil
	}
	return strings.Fields(tag)
}

func bound(text string, none float64) float64 {
	if x, err := strconv.ParseFloat(text, 64); err == nil {
		return x
	}
	return none
}

// container is a Field, a List or a Map.
type container interface {
	fill(n Node, r Rule)
	kind() (string, reflect.Type)
}

// describe finds what a field of a type takes.
func (r *Rule) describe(t reflect.Type) {
	if c, ok := reflect.New(t).Interface().(container); ok {
		kind, inner := c.kind()
		if r.describe(inner); kind != "" {
			r.Kind, r.Items = kind, r.Kind
		}
		return
	}
	switch t.Kind() {
	case reflect.String:
		r.Kind = "string"
	case reflect.Int:
		r.Kind = "integer"
	case reflect.Float64:
		r.Kind = "number"
	case reflect.Bool:
		r.Kind = "boolean"
	case reflect.Map:
		r.describe(t.Elem())
	case reflect.Struct:
		if t != reflect.TypeFor[Node]() {
			r.Kind, r.Inner = "object", rulesOf(t)
		}
	}
}
