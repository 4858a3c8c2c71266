package sheet

import (
	"fmt"
	"slices"
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
	n.sheet.fault(line, column, Problem{what, mend})
}

// FaultAt reports something wrong at a place of the node's file.
func (n Node) FaultAt(line, column int, what, mend string) {
	if n.sheet != nil {
		n.sheet.fault(line, column, Problem{what, mend})
	}
}

// Refuse reports what a parser found wrong with the node.
func (n Node) Refuse(err error) {
	p := ProblemOf(err)
	n.Fault(p.What, p.Mend)
}

// Position is where the node begins, from 1; 1, 1 where it isn't there.
func (n Node) Position() (line, column int) {
	at := n.node
	switch at.(type) {
	case nil, *ast.NullNode, *ast.MappingNode, *ast.MappingValueNode: // these have no good place of their own
		if n.key != nil {
			at = n.key
		}
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

// Name is the name before the value; empty for an item of a list.
func (n Node) Name() string {
	if n.key == nil {
		return ""
	}
	return keyText(n.key)
}

// Faults is how many were found in the file so far: what was read between two
// calls is in order if it is the same.
func (n Node) Faults() int {
	if n.sheet == nil {
		return 0
	}
	return len(n.sheet.faults.List)
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
		n.Fault("this is "+n.kind(), "write `name: value` lines, or {name: value, ...}")
		return nil
	}
	lines := map[string]int{}
	var all []Entry
	for _, v := range values {
		e := Entry{keyText(v.Key), Node{n.sheet, v.Value, v.Key}}
		line, _ := e.Value.AtKey().Position()
		if first, twice := lines[e.Name]; twice {
			e.Value.AtKey().Fault(fmt.Sprintf("%q stands twice", e.Name),
				fmt.Sprintf("keep this one or the one of line %d", first))
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
			e.Value.AtKey().Fault(fmt.Sprintf("%q is not known here", e.Name), Suggest(e.Name, allowed))
			continue
		}
		fields[e.Name] = e.Value
	}
	return fields
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
