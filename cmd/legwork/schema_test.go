package main

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"
	"github.com/stretchr/testify/require"
	"go.yaml.in/yaml/v3"

	"legwork/cmd/legwork/internal/job"
	"legwork/cmd/legwork/internal/sites"
	"legwork/diagnose/wiring"
	"legwork/probe/regmap"
	"legwork/probe/sheet"
	"legwork/sim"
)

// checker holds files to a schema, by a validator and a YAML reader that no one
// here wrote.
type checker struct {
	t      *testing.T
	schema *jsonschema.Schema
}

func newChecker(t *testing.T, name string) checker {
	f, err := formatOf(name)
	require.NoError(t, err)
	src, err := jsonschema.UnmarshalJSON(bytes.NewReader(f.schema()))
	require.NoError(t, err)
	c := jsonschema.NewCompiler()
	require.NoError(t, c.AddResource(f.file(), src))
	schema, err := c.Compile(f.file())
	require.NoError(t, err)
	return checker{t, schema}
}

func (c checker) yaml(src string) error {
	var x any
	if err := yaml.Unmarshal([]byte(src), &x); err != nil {
		return err
	}
	return c.schema.Validate(named(x))
}

// named turns the numbers among names into texts, as JSON has them.
func named(x any) any {
	switch x := x.(type) {
	case map[string]any:
		for name, value := range x {
			x[name] = named(value)
		}
	case map[any]any:
		texts := map[string]any{}
		for name, value := range x {
			texts[fmt.Sprint(name)] = named(value)
		}
		return texts
	case []any:
		for i := range x {
			x[i] = named(x[i])
		}
	}
	return x
}

func filesOf(t *testing.T, pattern string) map[string]string {
	names, err := filepath.Glob(pattern)
	require.NoError(t, err)
	require.NotEmpty(t, names, pattern)
	all := map[string]string{}
	for _, name := range names {
		src, err := os.ReadFile(name)
		require.NoError(t, err)
		all[filepath.Base(name)] = string(src)
	}
	return all
}

// What the parser reads, the schema of its table accepts.
func TestSchemasAcceptEveryGoodExample(t *testing.T) {
	maps := newChecker(t, "map")
	good := filesOf(t, "../../probe/regmap/testdata/*.yaml")
	for _, name := range sim.Names() {
		p, err := sim.Open(name, sim.Options{})
		require.NoError(t, err)
		_, src := p.Map()
		good[name] = string(src)
		m, err := regmap.Parse(name, src)
		require.NoError(t, err)
		good[name+", written anew"] = string(m.YAML("a heading"))
	}
	readme, err := os.ReadFile("../../README.md")
	require.NoError(t, err)
	_, shown, _ := strings.Cut(string(readme), "```yaml\n")
	good["README"], _, _ = strings.Cut(shown, "```")
	for name, src := range good {
		_, err := regmap.Parse(name, []byte(src))
		require.NoError(t, err)
		require.NoError(t, maps.yaml(src), name)
	}

	jobs := newChecker(t, "job")
	for _, s := range wiring.Services() {
		src, err := job.Blank(job.BlankOptions{Service: s.Name, Meter: "sim:kiln-house"})
		require.NoError(t, err)
		require.NoError(t, jobs.yaml(string(src)))
	}
}

// outside says which bad examples a schema must let through, and why; it refuses
// all others.
var outside = map[string]string{
	"overlap.yaml":   "registers are compared with each other",
	"reference.yaml": "a number is held against its table",
	"edge.yaml":      "types, signs and units are held against the quantity",
	"useless.yaml":   "points of one channel are held against each other",
	"alias.yaml":     "a reader of YAML writes anchors out before a schema sees them",
	"documents.yaml": "a schema sees one document",
}

func TestTheSchemaRefusesEveryBadMap(t *testing.T) {
	maps := newChecker(t, "map")
	bad := filesOf(t, "../../probe/regmap/testdata/bad/*.yaml")
	for name, src := range bad {
		_, err := regmap.Parse(name, []byte(src))
		require.Error(t, err, name)
		if _, is := outside[name]; is && name != "documents.yaml" {
			require.NoError(t, maps.yaml(src), name)
			continue
		}
		require.Error(t, maps.yaml(src), name)
	}
	for name := range outside {
		require.Contains(t, bad, name)
	}
}

// A table of a format says the same to its parser and in its schema: each name of
// it with a value of its own kind, a wrong one, none, and a name that isn't there.
func TestParserAndSchemaReadOneTable(t *testing.T) {
	const base = "legwork-map: 1\npoints:\n  voltage.1: {at: 0, type: f32}\n  current.1: {at: 2, type: f32}\n"
	c := newChecker(t, "map")
	var points, inner []sheet.Rule
	for _, r := range regmap.Rules() {
		if r.Names[0] == "points" {
			points, inner = []sheet.Rule{r}, r.Inner
		}
	}
	require.Len(t, points, 1)
	for _, r := range inner {
		for value, fits := range valuesOf(r) {
			src := base + fmt.Sprintf("  power.1: {at: 4, type: f32, %s: %s}\n", r.Names[0], value)
			switch r.Names[0] {
			case "at":
				src = base + fmt.Sprintf("  power.1: {at: %s, type: f32}\n", value)
			case "type":
				src = base + fmt.Sprintf("  power.1: {at: 4, type: %s}\n", value)
			}
			agree(t, c, src, fits, func() error { _, err := regmap.Parse("m.yaml", []byte(src)); return err })
		}
	}
	for _, name := range append(points[0].Keys, "volts.1", "voltage", "frequency.1") {
		if strings.Contains(base+"power.1:", name+":") {
			continue
		}
		src := base + fmt.Sprintf("  power.1: {at: 4, type: f32}\n  %s: {at: 10, type: f32}\n", name)
		known := name != "volts.1" && name != "voltage" && name != "frequency.1"
		agree(t, c, src, known, func() error { _, err := regmap.Parse("m.yaml", []byte(src)); return err })
	}

	for _, lacking := range []string{"legwork-map: 1\n", base + "  power.1: {type: f32}\n", base + "  power.1: {at: 4}\n",
		strings.TrimPrefix(base, "legwork-map: 1\n") + "  power.1: {at: 4, type: f32}\n"} {
		agree(t, c, lacking, false, func() error { _, err := regmap.Parse("m.yaml", []byte(lacking)); return err })
	}

	jobs := newChecker(t, "job")
	for src, fits := range map[string]bool{"legwork-job: 1\n": true, "meter: sim:kiln-house\n": false} {
		agree(t, jobs, src, fits, func() error { _, err := job.Parse("j.yaml", []byte(src)); return err })
	}
	for _, r := range job.Rules() {
		for value, fits := range valuesOf(r) {
			src := "legwork-job: 1\nmeter: sim:kiln-house\n"
			if name := r.Names[0]; name == "legwork-job" {
				src = fmt.Sprintf("legwork-job: %s\nmeter: sim:kiln-house\n", value)
			} else if name == "meter" {
				src = fmt.Sprintf("legwork-job: 1\nmeter: %s\n", value)
			} else {
				src += name + ": " + value + "\n"
			}
			agree(t, jobs, src, fits, func() error { _, err := job.Parse("j.yaml", []byte(src)); return err })
		}
	}
}

// agree holds that what doesn't fit is refused by both, and that nothing is
// refused by the schema alone.
func agree(t *testing.T, c checker, src string, fits bool, parse func() error) {
	t.Helper()
	bySchema, byParser := c.yaml(src), parse()
	if byParser == nil {
		require.NoError(t, bySchema, src)
	}
	if !fits {
		require.Error(t, byParser, src)
		require.Error(t, bySchema, src)
	} else {
		require.NoError(t, bySchema, src)
	}
}

// valuesOf are values, and whether the table allows them.
func valuesOf(r sheet.Rule) map[string]bool {
	all := map[string]bool{"{nonsense: 1}": false}
	for _, one := range r.Of {
		all[one], all[one+"s"] = true, false
	}
	switch r.Kind {
	case "integer":
		low, high := r.Low, r.High
		if r.Need != "" {
			return map[string]bool{r.Need: true, "7": false, "": false, "one": false}
		}
		all[fmt.Sprint(max(low, 1))], all["word"], all["1.5"] = true, false, false
		if low > -1e9 {
			all[fmt.Sprint(low-1)] = false
		}
		if high < 1e9 {
			all[fmt.Sprint(high+1)] = false
		}
	case "number":
		all["2.5"], all["1e-3"], all["-1"], all["word"] = true, true, true, false
	case "string":
		if r.Of == nil {
			all["word"], all["7"], all["[a, b]"] = true, true, false
		}
	case "array":
		if r.Items == "number" {
			all["7"], all["[7, 8]"], all["word"] = true, true, false
		} else {
			all["[a, b]"], all["word"] = true, true
		}
	case "object":
		for _, k := range r.Keys {
			all["{"+k+": word}"] = true
		}
		for _, in := range r.Inner {
			if in.Of == nil {
				all["{"+in.Names[0]+": 5}"] = true
			}
		}
	}
	return all
}

func TestRowsOfASitesFile(t *testing.T) {
	c := newChecker(t, "sites")
	for src, fits := range map[string]bool{
		"name,meter,generation\na,sim:kiln-house,\nb,sim:saw-shed,none\n": true,
		"name,meter,generation\na,sim:kiln-house,maybe\n":                 false,
		"name,meter,undr\na,sim:kiln-house,b\n":                           false,
		"name,map\na,m.yaml\n":                                            false,
	} {
		cells, err := csv.NewReader(strings.NewReader(src)).ReadAll()
		require.NoError(t, err)
		var rows []any
		for _, row := range cells[1:] {
			one := map[string]any{}
			for i, cell := range row {
				one[cells[0][i]] = cell
			}
			rows = append(rows, one)
		}
		_, err = sites.Parse("s.csv", []byte(src), nil)
		require.Equal(t, fits, err == nil, src)
		require.Equal(t, fits, c.schema.Validate(rows) == nil, src)
	}
}
