package prior

import (
	"sync"

	"legwork/diagnose/internal/loadmodel"
	"legwork/diagnose/wiring"
)

// Model is what is known of one kind of service before any reading: the
// density of load angles and, for every set of judged channels, the
// arrangements with their priors.
type Model struct {
	shape     loadmodel.Shape
	mu        sync.Mutex
	densities map[loadmodel.Sort]*Densities
	Lists     [8][]Arranged   // by the set of judged channels, a bit a channel
	Twins     [8][3]*TwinSets // sequence known Forward, known Backward, not known
}

// Arranged is one arrangement of the judged channels.
type Arranged struct {
	Number int    // digits of channels that aren't judged are 0
	Digit  [3]int // -1 where not judged
	Share  [2]float64
	Same   [2]int // two channels whose CTs share a leg; both 0 where none do
	// Neutral is the channel whose CT is on the neutral, counted from 1; 0 for none.
	Neutral int
	// Bare is then the leg that no CT is on, counted from 0.
	Bare int
}

// Tables are what is known of every kind of service before any reading. They are
// made as they are asked for and shared: by all cases of a process, at best. They
// may be used from several goroutines.
type Tables struct {
	mu sync.Mutex
	of map[shapeKey]*Model
}

// NewTables makes tables that hold nothing yet.
func NewTables() *Tables { return &Tables{of: map[shapeKey]*Model{}} }

type shapeKey struct {
	kind wiring.Kind
	high wiring.Leg
}

// Model gives that of a service; the first call makes it.
func (t *Tables) Model(s wiring.Service) *Model {
	t.mu.Lock()
	defer t.mu.Unlock()
	key := shapeKey{s.Kind, s.HighLeg}
	m := t.of[key]
	if m == nil {
		m = &Model{shape: loadmodel.ShapeOf(s), densities: map[loadmodel.Sort]*Densities{}}
		p := makePrior(s)
		for judged := range m.Lists {
			if judged < 1<<s.Channels() {
				m.Lists[judged] = arrange(p, s, judged)
				m.pairTwins(s, judged)
			}
		}
		t.of[key] = m
	}
	return m
}

// Densities are the tables of one sort of panel, by class of currents, made when one is
// first asked for.
type Densities struct {
	shape loadmodel.Shape
	sort  loadmodel.Sort
	once  sync.Once
	of    [loadmodel.Classes]*loadmodel.Density
}

// Densities gives the tables of a sort.
func (m *Model) Densities(sort loadmodel.Sort) *Densities {
	m.mu.Lock()
	defer m.mu.Unlock()
	d := m.densities[sort]
	if d == nil {
		d = &Densities{shape: m.shape, sort: sort}
		m.densities[sort] = d
	}
	return d
}

// Of gives the table for a class of currents.
func (d *Densities) Of(class int) *loadmodel.Density {
	d.once.Do(func() { d.of = loadmodel.Derive(d.shape, d.sort) })
	return d.of[class]
}

func (m *Model) pairTwins(s wiring.Service, judged int) {
	known := []wiring.Sequence{wiring.Forward, wiring.Backward}
	for i, q := range known {
		m.Twins[judged][i] = makeTwins(s, m.Lists[judged], []wiring.Sequence{q})
	}
	m.Twins[judged][2] = makeTwins(s, m.Lists[judged], s.Sequences())
}

// arrange lists the arrangements of the judged channels; the priors of what
// the others may be are summed.
func arrange(p *prior, s wiring.Service, judged int) []Arranged {
	var sum prior
	for a := range Arrangements {
		d := DigitsOf(a)
		for k := range d {
			if judged>>k&1 == 0 {
				d[k] = 0
			}
		}
		for q := range sum {
			sum[q][numberOf(d)] += p[q][a]
		}
	}
	var list []Arranged
	for a := range Arrangements {
		if sum[0][a]+sum[1][a] == 0 {
			continue
		}
		list = append(list, NewArranged(a, judged, s.Legs(), [2]float64{sum[0][a], sum[1][a]}))
	}
	return list
}

// NewArranged is a numbered arrangement of the judged channels on so many legs.
func NewArranged(a, judged, legs int, share [2]float64) Arranged {
	x := Arranged{Number: a, Digit: DigitsOf(a), Share: share}
	var taken [4]bool
	for k := range x.Digit {
		if judged>>k&1 == 0 {
			x.Digit[k] = -1
			continue
		}
		if x.Digit[k] >= Neutral {
			x.Neutral = k + 1
		}
		taken[x.Digit[k]/2] = true
		for j := range k {
			if x.Digit[j] >= 0 && x.Digit[j]/2 == x.Digit[k]/2 {
				x.Same = [2]int{j, k}
			}
		}
	}
	for m := range legs {
		if !taken[m] && (taken[x.Bare] || m == x.Neutral-1) {
			x.Bare = m
		}
	}
	return x
}
