package diagnose_test

import (
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

// allowed says which rooms of ours each room may import, and which of the
// libraries that only one room may.
var allowed = map[string][]string{
	"probe/reading":      nil,
	"probe/sheet":        nil,
	"probe/regmap":       {"probe/reading", "probe/sheet"},
	"probe/link":         {"probe/reading"},
	"probe/mend":         {"probe/reading", "probe/regmap"},
	"probe/seek":         {"probe/link"},
	"probe/learn":        {"probe/reading", "probe/regmap", "probe/learn/image"},
	"probe/learn/image":  {"probe/regmap"},
	"probe/learn/blocks": {"probe/regmap", "probe/link", "probe/learn/image"},
	"probe/health":       {"probe/link"},
	"probe/capture":      {"probe/reading", "probe/sheet"},
	"probe":              {"probe/reading", "probe/regmap", "probe/link"},
	"diagnose/wiring":    {"probe/reading"},
	"diagnose": {"probe/reading", "diagnose/wiring", "diagnose/internal/loadmodel", "diagnose/internal/evidence", "diagnose/internal/prior", "diagnose/internal/frames",
		"diagnose/internal/infer", "diagnose/internal/flow", "diagnose/internal/verdict", "diagnose/internal/advice", "diagnose/internal/trial"},
	"diagnose/internal/verdict": {"probe/reading", "diagnose/wiring", "diagnose/internal/loadmodel", "diagnose/internal/evidence",
		"diagnose/internal/prior", "diagnose/internal/frames", "diagnose/internal/infer", "diagnose/internal/flow",
		"diagnose/internal/advice"},
	"diagnose/internal/gaussian":  nil,
	"diagnose/internal/loadmodel": {"diagnose/wiring", "diagnose/internal/gaussian"},
	"diagnose/internal/evidence":  {"probe/reading", "diagnose/wiring", "diagnose/internal/gaussian"},
	"diagnose/internal/prior":     {"diagnose/wiring", "diagnose/internal/loadmodel"},
	"diagnose/internal/frames": {"probe/reading", "diagnose/wiring", "diagnose/internal/evidence", "diagnose/internal/prior",
		"diagnose/internal/gaussian"},
	"diagnose/internal/infer": {"probe/reading", "diagnose/wiring", "diagnose/internal/loadmodel", "diagnose/internal/evidence",
		"diagnose/internal/prior", "diagnose/internal/frames", "diagnose/internal/gaussian"},
	"diagnose/internal/flow": {"probe/reading", "diagnose/wiring", "diagnose/internal/loadmodel", "diagnose/internal/evidence",
		"diagnose/internal/prior", "diagnose/internal/frames", "diagnose/internal/infer"},
	"diagnose/internal/advice": {"diagnose/wiring", "diagnose/internal/infer"},
	"diagnose/internal/trial":  {"diagnose/wiring", "diagnose/internal/frames", "diagnose/internal/infer"},
	"diagnose/loadstep":        {"probe/reading", "diagnose", "diagnose/wiring", "diagnose/internal/evidence"},
	"diagnose/asleft": {"probe/reading", "diagnose", "diagnose/wiring", "diagnose/internal/gaussian",
		"diagnose/internal/loadmodel",
		"diagnose/internal/evidence", "diagnose/internal/prior", "diagnose/internal/frames", "diagnose/internal/infer"},
	"diagnose/doubt":     nil,
	"diagnose/clamp":     {"probe/reading", "diagnose/wiring", "diagnose/doubt"},
	"diagnose/pulses":    {"probe/reading", "diagnose/wiring", "diagnose/doubt"},
	"diagnose/ledger":    {"probe/reading", "probe/sheet", "diagnose/wiring"},
	"diagnose/energy":    {"probe/reading", "diagnose", "diagnose/internal/flow", "diagnose/wiring", "diagnose/doubt"},
	"diagnose/phasetest": {"probe/reading", "probe/sheet", "diagnose/wiring"},
	"sim":                {"probe/reading", "probe/regmap", "probe/sheet"},
	"sim/serve":          {"probe/reading", "probe/regmap", "sim"},
}

// Rooms without input or output have readers and writers handed in.
var quiet = []string{"probe/reading", "probe/sheet", "probe/regmap", "probe/mend", "probe/learn", "probe/learn/image", "probe/capture", "diagnose/wiring", "diagnose", "diagnose/phasetest",
	"diagnose/asleft", "diagnose/doubt", "diagnose/clamp", "diagnose/pulses", "diagnose/ledger", "diagnose/energy"}

// Data flows one way, and only the link speaks Modbus.
func TestRoomsImportOnlyWhatTheyMay(t *testing.T) {
	seen := 0
	err := filepath.WalkDir("..", func(file string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || !strings.HasSuffix(file, ".go") || strings.HasSuffix(file, "_test.go") {
			return err
		}
		seen++
		room := path.Dir(filepath.ToSlash(file))[len("../"):]
		tree, err := parser.ParseFile(token.NewFileSet(), file, nil, parser.ImportsOnly)
		require.NoError(t, err)
		for _, spec := range tree.Imports {
			name, err := strconv.Unquote(spec.Path.Value)
			require.NoError(t, err)
			checkImport(t, room, name)
		}
		return nil
	})
	require.NoError(t, err)
	require.Greater(t, seen, 40)
}

func checkImport(t *testing.T, room, name string) {
	if ours, is := strings.CutPrefix(name, "legwork/"); is && !strings.HasPrefix(room, "cmd/") {
		require.Contains(t, allowed[room], ours, "%s imports %s", room, ours)
	}
	for _, library := range []string{"github.com/goburrow/", "go.bug.st/"} {
		if strings.HasPrefix(name, library) {
			require.Equal(t, "probe/link", room, "%s imports %s", room, name)
		}
	}
	if slices.Contains(quiet, room) {
		require.NotContains(t, []string{"net", "os", "log"}, name, "%s imports %s", room, name)
	}
}
