package sheet

import "github.com/goccy/go-yaml/ast"

// refuseFancy reports anchors, aliases, merge keys and tags.
func (n Node) refuseFancy() {
	ast.Walk(fancy{n.sheet}, n.node) // a thousand of them are one habit: the first is named
}

type fancy struct{ sheet *Sheet }

// Visit implements ast.Visitor.
func (f fancy) Visit(n ast.Node) ast.Visitor {
	if f.sheet.faults.List != nil {
		return nil
	}
	at := Node{f.sheet, n, nil}
	switch n.(type) {
	case *ast.AnchorNode, *ast.AliasNode, *ast.MergeKeyNode:
		at.Fault("anchors, aliases and merge keys are not read here", "write the value out")
	case *ast.TagNode:
		at.Fault("tags are not read here", "write the plain value")
	}
	return f
}
