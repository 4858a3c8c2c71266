package diagnose

import "sync"

// phrase is what is said of one arrangement: it depends on no reading, so it
// is made once. Results share it; it must not be changed.
type phrase struct {
	words string
	moves []Move
}

type phraseKey struct {
	service string
	number  int
	judged  [3]bool
	state   [3]InputState
	severe  [3]bool
}

// phrases keeps what was said before. There are at most a few thousand keys.
type phrases struct {
	mu sync.Mutex
	of map[phraseKey]phrase
}

func (p *phrases) get(g *group) phrase {
	key := phraseKey{g.service.Name, g.members[0].number, g.judged, g.state, g.severe}
	p.mu.Lock()
	defer p.mu.Unlock()
	said, ok := p.of[key]
	if !ok {
		said = phrase{g.words(), g.moves()}
		if p.of == nil {
			p.of = map[phraseKey]phrase{}
		}
		p.of[key] = said
	}
	return said
}
