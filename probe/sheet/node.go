package sheet

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"github.com/goccy/go-yaml/ast"
)

// Node is a value in a sheet. The zero of it, and one that isn't there, give
// nothing and report nothing.
type Node struct {
	sheet *Sheet
	node  ast.Node
	key   ast.Node // that names it; nil for an item of a list
}

// Is reports whether the node is there.
func (n Node) Is() bool { return n.node != nil }

// Blank reports that nothing stands there: no such line, or a name without a value.
func (n Node) Blank() bool {
	if n.node == nil || n.node.Type() == ast.NullType {
		return true
	}
	s, ok := n.node.(*ast.StringNode)
	return ok && strings.TrimSpace(s.Value) == ""
}

// Fault reports something wrong at the node.
func (n Node) Fault(what, mend string) {
	if n.sheet == nil {
		return
	}
	line, column := n.Position()
	n.sheet.fault(line, column, what, mend)
}

// Position is where the node begins, from 1; 1, 1 where it isn't there.
func (n Node) Position() (line, column int) {
	at := n.node
	if n.key != nil && (at == nil || at.Type() == ast.NullType || at.Type() == ast.MappingType || at.Type() == ast.MappingValueType) {
		at = n.key
	}
	if at == nil || at.GetToken() == nil || at.GetToken().Position == nil {
		return 1, 1
	}
	p := at.GetToken().Position
	return max(p.Line, 1), max(p.Column, 1)
}

// AtKey is the node with the position of its name.
func (n Node) AtKey() Node {
	if n.key == nil {
		return n
	}
	return Node{n.sheet, n.key, nil}
}

// Entry is one line of a mapping.
type Entry struct {
	Name  string
	Value Node
}

// Entries gives the lines of a mapping in their order. A name that stands twice
// is a fault, and so is a node that is no mapping.
func (n Node) Entries() []Entry {
	if n.node == nil || n.node.Type() == ast.NullType {
		return nil
	}
	var values []*ast.MappingValueNode
	switch m := n.node.(type) {
	case *ast.MappingNode:
		values = m.Values
	case *ast.MappingValueNode:
		values = []*ast.MappingValueNode{m}
	default:
		n.Fault("here stands "+n.kind(), "write `name: value` lines, or {name: value, ...}")
		return nil
	}
	lines := map[string]int{}
	var all []Entry
	for _, v := range values {
		e := Entry{keyText(v.Key), Node{n.sheet, v.Value, v.Key}}
		line, _ := e.Value.AtKey().Position()
		if first, twice := lines[e.Name]; twice {
			e.Value.AtKey().Fault(fmt.Sprintf("%q stands twice", e.Name), fmt.Sprintf("keep this one or the one of line %d", first))
			continue
		}
		lines[e.Name] = line
		all = append(all, e)
	}
	return all
}

func keyText(k ast.Node) string {
	if s, ok := k.(*ast.StringNode); ok {
		return s.Value
	}
	return strings.TrimSpace(k.String())
}

// Fields gives a mapping's values by name. A name that isn't allowed is a
// fault, with the near one suggested.
func (n Node) Fields(allowed ...string) map[string]Node {
	fields := map[string]Node{}
	for _, e := range n.Entries() {
		if !slices.Contains(allowed, e.Name) {
			e.Value.AtKey().Fault(fmt.Sprintf("%q is not known here", e.Name), suggest(e.Name, allowed))
			continue
		}
		fields[e.Name] = e.Value
	}
	return fields
}

func suggest(name string, allowed []string) string {
	if near := Near(name, allowed); near != "" {
		return "did you mean " + near + "?"
	}
	return "known are " + strings.Join(allowed, ", ")
}

// List gives the items of a list; a single value counts as a list of one.
func (n Node) List() []Node {
	if n.node == nil || n.node.Type() == ast.NullType {
		return nil
	}
	l, ok := n.node.(*ast.SequenceNode)
	if !ok {
		return []Node{n}
	}
	items := make([]Node, len(l.Values))
	for i, v := range l.Values {
		items[i] = Node{n.sheet, v, nil}
	}
	return items
}

// Text gives a text or a number as it stands; ok is false where it isn't there
// or is something else, which is a fault.
func (n Node) Text() (s string, ok bool) {
	switch v := n.node.(type) {
	case nil:
		return "", false
	case *ast.StringNode:
		return v.Value, true
	case *ast.LiteralNode:
		return v.Value.Value, true
	case *ast.IntegerNode, *ast.FloatNode, *ast.BoolNode:
		return v.GetToken().Value, true
	}
	n.Fault("here stands "+n.kind(), "write a text")
	return "", false
}

// OneOf gives a text that must be one of a few.
func (n Node) OneOf(allowed ...string) (s string, ok bool) {
	s, ok = n.Text()
	if !ok || slices.Contains(allowed, s) {
		return s, ok
	}
	n.Fault(fmt.Sprintf("%q is not one of %s", s, strings.Join(allowed, ", ")), didYouMean(s, allowed))
	return "", false
}

func didYouMean(s string, allowed []string) string {
	if near := Near(s, allowed); near != "" {
		return "did you mean " + near + "?"
	}
	return ""
}

// Int gives a whole number within bounds. It must be written plainly: 010 would
// be 8 to YAML, and 40_001 is refused too.
func (n Node) Int(low, high int) (x int, ok bool) {
	raw, ok := n.plain("a whole number")
	if !ok {
		return 0, false
	}
	v, err := strconv.ParseInt(raw, 0, 64)
	if strings.ContainsRune(raw, '_') || octal(raw) || err != nil {
		n.Fault(fmt.Sprintf("%q is not a plain whole number", raw), "write it in decimal, or in hexadecimal after 0x")
		return 0, false
	}
	if v < int64(low) || v > int64(high) {
		n.Fault(fmt.Sprintf("%s is out of range", raw), fmt.Sprintf("from %d to %d", low, high))
		return 0, false
	}
	return int(v), true
}

func octal(raw string) bool {
	digits := strings.TrimLeft(raw, "+-")
	return len(digits) > 1 && digits[0] == '0' && digits[1] != 'x' && digits[1] != 'X'
}

// Float gives a finite number.
func (n Node) Float() (x float64, ok bool) {
	raw, ok := n.plain("a number")
	if !ok {
		return 0, false
	}
	x, err := strconv.ParseFloat(raw, 64)
	if err != nil || math.IsInf(x, 0) || math.IsNaN(x) || strings.ContainsRune(raw, '_') {
		n.Fault(fmt.Sprintf("%q is not a number", raw), "write one such as 0.001 or 1e-3")
		return 0, false
	}
	return x, true
}

// Bool gives true or false.
func (n Node) Bool() (x, ok bool) {
	if n.node == nil {
		return false, false
	}
	if b, isBool := n.node.(*ast.BoolNode); isBool {
		return b.Value, true
	}
	n.Fault("here stands "+n.kind(), "write true or false")
	return false, false
}

// plain is the token of a number as it was written.
func (n Node) plain(want string) (string, bool) {
	switch v := n.node.(type) {
	case nil:
		return "", false
	case *ast.IntegerNode, *ast.FloatNode:
		return v.GetToken().Value, true
	case *ast.StringNode:
		n.Fault(fmt.Sprintf("%q is not %s", v.Value, want), "write it without quotes or unit")
		return "", false
	}
	n.Fault("here stands "+n.kind(), "write "+want)
	return "", false
}

func (n Node) kind() string {
	switch n.node.(type) {
	case *ast.MappingNode, *ast.MappingValueNode:
		return "a group of `name: value` lines"
	case *ast.SequenceNode:
		return "a list"
	case *ast.NullNode:
		return "nothing"
	case *ast.BoolNode:
		return "true or false"
	case *ast.IntegerNode, *ast.FloatNode, *ast.InfinityNode, *ast.NanNode:
		return "a number"
	}
	return "a text"
}

// refuseFancy reports anchors, aliases, merge keys and tags.
func (n Node) refuseFancy() {
	ast.Walk(fancy{n.sheet}, n.node)
}

type fancy struct{ sheet *Sheet }

// Visit implements ast.Visitor.
func (f fancy) Visit(n ast.Node) ast.Visitor {
	at := Node{f.sheet, n, nil}
	switch n.(type) {
	case *ast.AnchorNode, *ast.AliasNode, *ast.MergeKeyNode:
		at.Fault("anchors, aliases and merge keys are not read here", "write the value out")
	case *ast.TagNode:
		at.Fault("tags are not read here", "write the plain value")
	}
	return f
}

// FaultAt reports something wrong at a place of the node's file.
func (n Node) FaultAt(line, column int, what, mend string) {
	if n.sheet != nil {
		n.sheet.fault(line, column, what, mend)
	}
}
