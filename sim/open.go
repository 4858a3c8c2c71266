package sim

import (
	"cmp"
	"embed"
	"fmt"
	"io/fs"
	"strings"

	"legwork/probe/regmap"
	"legwork/probe/sheet"
)

//go:embed scenarios/*.yaml
var scenarios embed.FS

const mapSuffix = ".map.yaml"

func mapFile(name string) string { return name + mapSuffix }

// Names lists the places that Open knows, in alphabetical order.
func Names() []string {
	files, _ := fs.Glob(scenarios, "scenarios/*.yaml") // the pattern is sound
	var names []string
	for _, f := range files {
		name := strings.TrimPrefix(f, "scenarios/")
		if !strings.HasSuffix(name, mapSuffix) {
			names = append(names, strings.TrimSuffix(name, ".yaml"))
		}
	}
	return names
}

// Open sets up a place by its name. The error is an unknown name, with the near
// one suggested, or a fault that can't be.
func Open(name string, o Options) (*Place, error) {
	src, err := scenarios.ReadFile("scenarios/" + name + ".yaml")
	if err != nil || strings.HasSuffix(name, ".map") {
		return nil, unknown(name)
	}
	c, err := ParseScenario(name+".yaml", src)
	if err != nil {
		return nil, err
	}
	p, err := newPlace(name, c, o)
	if err != nil {
		return nil, err
	}
	if p.source, err = scenarios.ReadFile("scenarios/" + mapFile(name)); err != nil {
		return nil, fmt.Errorf("register map of %s: %w", name, err)
	}
	p.registry, err = regmap.Parse(mapFile(name), p.source)
	return p, err
}

func unknown(name string) error {
	hint := cmp.Or(sheet.DidYouMean(name, Names()), "there are "+strings.Join(Names(), ", "))
	return fmt.Errorf("there is no place %q; %s", name, hint)
}
