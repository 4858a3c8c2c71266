package main

import (
	"go/ast"
	"go/parser"
	"go/token"
	"regexp"
	"slices"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"
)

// deciding are the functions of strings and bytes that find something in a text.
// Those that only lay one out are free.
var deciding = []string{"HasPrefix", "HasSuffix", "Contains", "ContainsAny", "Index", "LastIndex", "Count", "EqualFold",
	"Cut", "CutPrefix", "CutSuffix", "TrimPrefix", "TrimSuffix", "Split", "SplitN"}

// sentences are the fields that hold sentences.
var sentences = []string{"Summary", "Why", "Says", "Words", "Ask", "Fault", "Mend", "Note", "Place"}

// words is a text of ours, as against a mark, a unit or an ending: it has a letter
// beside a blank.
var words = regexp.MustCompile(`\pL[:,.]? | \pL`)

// edges are where a sentence is made typed again, each with its reason.
var edges = map[string]string{
	"diagnose/result.go: TrimPrefix": "a saved result holds its summary as one sentence",
	"probe/link/tls.go: Contains":    "crypto/tls has no type for this alert",
}

// No code reads a meaning back out of a sentence: a type carries it, and the
// sentence is made at the edge.
func TestNoMeaningIsReadOutOfASentence(t *testing.T) {
	used := map[string]bool{}
	eachSource(t, func(file string, at *token.FileSet, tree *ast.File) {
		for _, f := range readBack(tree) {
			place := file + ": " + f.what
			if _, edge := edges[place]; edge {
				used[place] = true
				continue
			}
			t.Errorf("%s:%d: %s reads a sentence; let a type carry what it says", file, at.Position(f.pos).Line, f.what)
		}
	})
	for place := range edges {
		require.True(t, used[place], "%s is no more: take it out of the list", place)
	}
}

// found is a place where a sentence is read.
type found struct {
	what string
	pos  token.Pos
}

// readBack finds where a file reads sentences: text of an error or a field for
// sentences that is searched or compared, or text that is searched for words.
func readBack(tree *ast.File) []found {
	var all []found
	ast.Inspect(tree, func(n ast.Node) bool {
		switch x := n.(type) {
		case *ast.BinaryExpr:
			if (x.Op == token.EQL || x.Op == token.NEQ) && (errorText(x.X) || errorText(x.Y)) {
				all = append(all, found{x.Op.String(), x.Pos()})
			}
		case *ast.CallExpr:
			name, ok := searches(x)
			if ok && slices.ContainsFunc(x.Args, func(arg ast.Expr) bool { return sentence(arg) || ofWords(arg) }) {
				all = append(all, found{name, x.Pos()})
			}
		}
		return true
	})
	return all
}

// searches names a function that finds something in a text.
func searches(call *ast.CallExpr) (string, bool) {
	f, ok := call.Fun.(*ast.SelectorExpr)
	if !ok {
		return "", false
	}
	from, ok := f.X.(*ast.Ident)
	return f.Sel.Name, ok && (from.Name == "strings" || from.Name == "bytes") && slices.Contains(deciding, f.Sel.Name)
}

// errorText reports the text of an error anywhere in an expression.
func errorText(e ast.Expr) bool {
	yes := false
	ast.Inspect(e, func(n ast.Node) bool {
		if call, ok := n.(*ast.CallExpr); ok && len(call.Args) == 0 {
			f, ok := call.Fun.(*ast.SelectorExpr)
			yes = yes || ok && f.Sel.Name == "Error"
		}
		return !yes
	})
	return yes
}

func sentence(e ast.Expr) bool {
	f, ok := e.(*ast.SelectorExpr)
	return errorText(e) || ok && slices.Contains(sentences, f.Sel.Name)
}

// ofWords reports a literal text of words.
func ofWords(e ast.Expr) bool {
	lit, ok := e.(*ast.BasicLit)
	if !ok || lit.Kind != token.STRING {
		return false
	}
	text, err := strconv.Unquote(lit.Value)
	return err == nil && words.MatchString(text)
}

// The test above finds what it looks for.
func TestReadBackFinds(t *testing.T) {
	for code, want := range map[string]int{
		`strings.HasSuffix(err.Error(), "x")`:                 1,
		`strings.Contains(fmt.Sprint(err.Error()), x)`:        1,
		`err.Error() == "gone"`:                               1,
		`strings.TrimPrefix(text, "Undecided: ")`:             1,
		`strings.TrimSuffix(text, " used")`:                   1,
		`strings.HasSuffix(r.Why, "?")`:                       1,
		`strings.Cut(r.Summary, x)`:                           1,
		`strings.TrimRight(err.Error(), "\n")`:                0,
		`strings.TrimPrefix(unit, "k")`:                       0,
		`strings.HasPrefix(meter, "rtu:")`:                    0,
		`strings.Split(list, ", ")`:                           0,
		`fmt.Errorf("the wiring: %s", err.Error())`:           0,
		`strings.Contains(a, "is wanted") || err.Error()==""`: 2,
	} {
		tree, err := parser.ParseFile(token.NewFileSet(), "x.go", "package x\nvar _ = "+code, 0)
		require.NoError(t, err)
		require.Len(t, readBack(tree), want, code)
	}
}
