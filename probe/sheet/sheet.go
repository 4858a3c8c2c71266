package sheet

import (
	"errors"
	"fmt"
	"reflect"
	"strings"

	"github.com/goccy/go-yaml"
	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/parser"
)

// Sheet is one file while it is read. Its faults gather until Err.
type Sheet struct {
	file   string
	lines  []string
	faults Faults
	blanks bool // a name without a value counts as one that isn't there
	rules  map[reflect.Type][]Rule
}

func newSheet(file string) *Sheet { return &Sheet{file: file, rules: map[reflect.Type][]Rule{}} }

// Open parses a file and gives its top-level mapping. What is wrong stands in
// s.Err; then the node is empty, and reading on gives nothing.
func Open(file string, src []byte) (*Sheet, Node) {
	s := newSheet(file)
	empty := Node{sheet: s}
	src, err := unmarked(src)
	if err != nil {
		s.fault(1, 1, ProblemOf(err))
		return s, empty
	}
	if line, err := tooMuch(src); err != nil {
		s.fault(line, 1, ProblemOf(err))
		return s, empty
	}
	s.lines = strings.Split(string(src), "\n")
	tree, err := parse(src)
	if err != nil {
		s.syntax(err)
		return s, empty
	}
	root := s.root(tree)
	if s.faults.List != nil {
		return s, empty
	}
	return s, root
}

// parse keeps a panic of the parser, of which fuzzing others' parsers teaches
// to be wary, from reaching the user.
func parse(src []byte) (tree *ast.File, err error) {
	defer func() {
		if p := recover(); p != nil {
			err = fmt.Errorf("this can't be read as YAML")
		}
	}()
	return parser.ParseBytes(src, 0, parser.AllowDuplicateMapKey())
}

func (s *Sheet) syntax(err error) {
	var wrong *yaml.SyntaxError
	if errors.As(err, &wrong) && wrong.Token != nil && wrong.Token.Position != nil {
		at := wrong.Token.Position
		s.fault(at.Line, at.Column, Problem{"not YAML here: " + oneLine(wrong.Message), checkYAML})
		return
	}
	s.fault(1, 1, Problem{"not YAML: " + oneLine(err.Error()), checkYAML})
}

const checkYAML = "check the indentation, the colons and the quotes"

func oneLine(s string) string {
	first, _, _ := strings.Cut(strings.TrimSpace(s), "\n")
	return first
}

func (s *Sheet) root(tree *ast.File) Node {
	var bodies []ast.Node
	for _, d := range tree.Docs {
		if d.Body != nil && d.Body.Type() != ast.CommentType && d.Body.Type() != ast.NullType {
			bodies = append(bodies, d.Body)
		}
	}
	switch {
	case len(bodies) == 0:
		s.fault(1, 1, Problem{What: "the file is empty"})
		return Node{sheet: s}
	case len(bodies) > 1:
		n := Node{sheet: s, node: bodies[1]}
		n.Fault("a second document begins here", "keep one document a file")
	}
	root := Node{sheet: s, node: bodies[0]}
	root.refuseFancy()
	if root.node.Type() != ast.MappingType && root.node.Type() != ast.MappingValueType {
		root.Fault("this is no list of `name: value` lines", "begin with a name, a colon and a value")
	}
	return root
}

// Read opens a file, fills a struct from it as Node.Decode does, and lets check
// say what tags can't. The error is a *Faults with all that is wrong.
func Read(file string, src []byte, into any, check func(root Node)) error {
	s, root := Open(file, src)
	if s.faults.List == nil {
		root.Decode(into)
		check(root)
	}
	return s.Err()
}

// Err gives every fault that was found, as a *Faults, or nil.
func (s *Sheet) Err() error { return s.faults.Err() }

func (s *Sheet) fault(line, column int, p Problem) {
	line, column = max(line, 1), max(column, 1)
	p.What, p.Mend = Short(p.What), Short(p.Mend)
	f := Fault{File: s.file, Line: line, Column: column, Problem: p}
	if line <= len(s.lines) {
		text := strings.TrimRight(s.lines[line-1], "\r")
		if len(text) < 200 && column <= len(text)+1 {
			f.Snippet = strings.ReplaceAll(text, "\t", " ") + "\n" + strings.Repeat(" ", column-1) + "^"
		}
	}
	s.faults.Add(f)
}
