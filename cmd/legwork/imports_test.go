package main

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"path"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// below says which of the command's own rooms each of them may import. Main may
// import all of them, and none of them main.
var below = map[string][]string{
	"files":    nil,
	"flags":    nil,
	"help":     nil,
	"promql":   nil,
	"source":   {"promql"},
	"save":     {"files"},
	"job":      {"source"},
	"record":   {"files"},
	"keep":     {"job", "record", "source"},
	"estimate": {"flags", "job", "keep", "record"},
	"sketch":   nil,
	"screen":   {"record", "sketch", "survey", "trace"},
	"watch":    {"screen", "sketch"},
	"report":   {"job", "record", "screen", "sketch"},

	"sites":      {"job", "source"},
	"round":      {"sites", "source"},
	"fleet":      {"source"},
	"survey":     {"round", "sites"},
	"trace":      {"round", "sites"},
	"card":       {"report", "screen", "sketch", "survey"},
	"surveypage": {"card", "report", "survey"},
	"day":        {"promql", "survey"},
	"desk":       {"card", "day", "promql", "report", "round", "screen", "sites", "source", "survey"},
}

// only says which rooms of the whole may import what few should: how bytes get to
// a meter, the simulator, other programs, and the web.
var only = map[string][]string{
	"legwork/probe/link": {"probe", "probe/seek", "probe/health", "probe/learn/blocks", "cmd/legwork", "cmd/legwork/internal/source",
		"cmd/legwork/internal/screen", "cmd/legwork/internal/watch", "cmd/legwork/internal/round", "cmd/legwork/internal/desk"},
	"legwork/sim": {"sim/serve", "cmd/legwork", "cmd/legwork/internal/source", "cmd/legwork/internal/keep",
		"cmd/legwork/internal/fleet"},
	"legwork/sim/serve": {"cmd/legwork", "cmd/legwork/internal/source", "cmd/legwork/internal/fleet"},
	"os/exec":           nil,
	"net/http":          {"cmd/legwork/internal/desk", "cmd/legwork/internal/promql", "cmd/legwork/internal/source"},
}

// The command's rooms have an order too, nobody starts programs, and only the desk serves pages.
func TestRoomsOfTheCommand(t *testing.T) {
	const own = "legwork/cmd/legwork/internal/"
	seen := map[string]bool{}
	eachSource(t, func(file string, _ *token.FileSet, tree *ast.File) {
		room := path.Dir(file)
		inside, isOwn := strings.CutPrefix("legwork/"+room, own)
		seen[room] = true
		if isOwn {
			require.Contains(t, below, inside, "%s is a new room: say here what it may import", room)
		}
		for _, spec := range tree.Imports {
			name, err := strconv.Unquote(spec.Path.Value)
			require.NoError(t, err)
			if few, is := only[name]; is {
				require.True(t, slices.Contains(few, room), "%s imports %s", room, name)
			}
			if to, is := strings.CutPrefix(name, own); is && isOwn {
				require.Contains(t, below[inside], to, "%s imports %s", room, name)
			}
		}
	})
	for room := range below {
		require.True(t, seen["cmd/legwork/internal/"+room], "there is no room %s", room)
	}
}

// eachSource hands on every file of the sources that is no test, by its path from
// the root.
func eachSource(t *testing.T, do func(file string, at *token.FileSet, tree *ast.File)) {
	const root = "../.."
	n := 0
	err := filepath.WalkDir(root, func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || !strings.HasSuffix(name, ".go") || strings.HasSuffix(name, "_test.go") {
			return err
		}
		n++
		at := token.NewFileSet()
		tree, err := parser.ParseFile(at, name, nil, parser.SkipObjectResolution)
		require.NoError(t, err)
		do(filepath.ToSlash(name)[len(root)+1:], at, tree)
		return nil
	})
	require.NoError(t, err)
	require.Greater(t, n, 100)
}
