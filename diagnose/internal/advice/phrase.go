package advice

import (
	"sync"

	"legwork/diagnose/internal/infer"
	"legwork/diagnose/wiring"
)

// Phrase is what is said of one arrangement: it depends on no reading, so it
// is made once. Results share it; it must not be changed.
type Phrase struct {
	Words string
	Moves []wiring.Move
}

type phraseKey struct {
	service string
	number  int
	judged  [3]bool
	state   [3]wiring.InputState
	severe  [3]bool
}

// Phrases keeps what was said before. There are at most a few thousand keys.
type Phrases struct {
	mu sync.Mutex
	of map[phraseKey]Phrase
}

func (p *Phrases) Get(g *infer.Group) Phrase {
	key := phraseKey{g.Service.Name, g.Members[0].Number, g.Judged, g.State, g.Severe}
	p.mu.Lock()
	defer p.mu.Unlock()
	said, ok := p.of[key]
	if !ok {
		said = Phrase{words(g), moves(g)}
		if p.of == nil {
			p.of = map[phraseKey]Phrase{}
		}
		p.of[key] = said
	}
	return said
}
