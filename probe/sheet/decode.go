package sheet

import (
	"cmp"
	"fmt"
	"math"
	"reflect"
)

// Lenient has a name without a value count as one that isn't there, in the whole
// file: for sheets that are handed out to be filled in.
func (n Node) Lenient() Node {
	n.sheet.blanks = true
	return n
}

// Decode fills a struct from a mapping, as the tags of its fields say (see Rule),
// and reports what they don't allow. A field of a string, int, float64, bool or
// struct type takes the value alone; a Field has its place too; a List, a Map or
// a Node is read by its owner. An embedded Node is where the mapping stands.
func (n Node) Decode(into any) {
	if n.sheet == nil {
		return
	}
	v := reflect.ValueOf(into).Elem()
	rules, ok := n.sheet.rules[v.Type()]
	if !ok {
		rules = rulesOf(v.Type())
		n.sheet.rules[v.Type()] = rules
	}
	if here := v.FieldByName("Node"); here.IsValid() {
		here.Set(reflect.ValueOf(n))
	}
	var names []string
	for _, r := range rules {
		names = append(names, r.Names...)
	}
	given := n.Fields(names...)
	for _, r := range rules {
		for _, name := range r.Names {
			switch at := given[name]; {
			case at.Is():
				r.put(v.Field(r.index), name, at)
			case r.Need != "":
				n.missing(given, name, r)
			}
		}
	}
}

// missing reports a name at the first of those that are there.
func (n Node) missing(given map[string]Node, name string, r Rule) {
	if r.is != "" {
		n.Fault("this doesn't say that it is "+r.is, fmt.Sprintf("begin with `%s: %s`", name, r.Need))
		return
	}
	line, column := n.Position()
	for _, one := range given {
		if l, c := one.AtKey().Position(); l < line || l == line && c < column {
			line, column = l, c
		}
	}
	n.FaultAt(line, column, name+" is missing", fmt.Sprintf("write `%s: %s`", name, r.Need))
}

// put sets a field, or one value of a map by name.
func (r Rule) put(v reflect.Value, name string, n Node) {
	if v.Kind() != reflect.Map {
		r.set(v, n)
		return
	}
	if v.IsNil() {
		v.Set(reflect.MakeMap(v.Type()))
	}
	one := reflect.New(v.Type().Elem()).Elem()
	r.set(one, n)
	v.SetMapIndex(reflect.ValueOf(name), one)
}

// set reads a value by its type; it reports one that is given and right.
func (r Rule) set(v reflect.Value, n Node) (ok bool) {
	switch to := v.Addr().Interface().(type) {
	case container:
		to.fill(n, r)
		return true
	case *Node:
		*to = n
		return true
	}
	if n.sheet.blanks && r.Need == "" && n.Blank() {
		return false
	}
	if r.blank != "" && n.Blank() {
		n.Fault("`"+n.Name()+"` is still blank", r.blank)
		return false
	}
	var x any
	switch v.Kind() {
	case reflect.String:
		x, ok = r.text(n)
	case reflect.Int:
		low, high := max(r.Low, math.MinInt32), min(r.High, math.MaxInt32)
		x, ok = n.whole(int(low), int(high), cmp.Or(r.mend, span(low, high)))
		if r.version != "" && ok && fmt.Sprint(x) != r.Need {
			n.Fault(fmt.Sprintf("version %d of %s's format is not known", x, r.version),
				"this legwork reads version "+r.Need)
		}
	case reflect.Float64:
		x, ok = n.Within(r.Low, r.High)
	case reflect.Bool:
		x, ok = n.Bool()
	case reflect.Struct:
		n.Decode(v.Addr().Interface())
		return true
	}
	if ok {
		v.Set(reflect.ValueOf(x).Convert(v.Type()))
	}
	return ok
}

func (r Rule) text(n Node) (string, bool) {
	if len(r.Of) > 0 {
		return n.OneOf(r.Of...)
	}
	return n.Text()
}
