package sim

import (
	"fmt"
	"slices"
	"strings"
)

// Another is the same place once more, with options of its own: a building of
// many alike panels is read from its files once.
func (p *Place) Another(o Options) (*Place, error) {
	q, err := newPlace(p.name, p.scenario, o)
	if err != nil {
		return nil, err
	}
	q.source, q.registry = p.source, p.registry
	return q, nil
}

// Circuits lists the loads, each on a breaker of its own.
func (p *Place) Circuits() []string {
	names := make([]string, len(p.scenario.Loads))
	for i, l := range p.scenario.Loads {
		names[i] = l.Name
	}
	return names
}

// Break opens a circuit's breaker, or closes it again: then its load comes and
// goes as before. The error is a name that isn't there.
func (p *Place) Break(circuit string, open bool) error {
	i := slices.Index(p.Circuits(), circuit)
	if i < 0 {
		return fmt.Errorf("there is no circuit %q; there are %s", circuit, strings.Join(p.Circuits(), ", "))
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.broken == nil {
		p.broken = make([]bool, len(p.scenario.Loads))
	}
	p.broken[i] = open
	return nil
}
