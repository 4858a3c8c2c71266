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
	densities [loadmodel.Classes]lazyDensity
	Lists     [8][]Arranged   // by the set of judged channels, a bit a channel
	Twins     [8][3]*TwinSets // sequence known Forward, known Backward, not known
}

// Arranged is one arrangement of the judged channels.
type Arranged struct {
	Number int    // digits of channels that aren't judged are 0
	Digit  [3]int // -1 where not judged
	Share  [2]float64
	Same   [2]int // two channels whose CTs share a leg; both 0 where none do
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
		m = &Model{shape: loadmodel.ShapeOf(s)}
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

// lazyDensity is made when it is first asked for.
type lazyDensity struct {
	once sync.Once
	d    *loadmodel.Density
}

// Density gives the table for a class of currents.
func (m *Model) Density(class int) *loadmodel.Density {
	l := &m.densities[class]
	l.once.Do(func() { l.d = loadmodel.DeriveDensity(m.shape, class) })
	return l.d
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
		list = append(list, NewArranged(a, judged, [2]float64{sum[0][a], sum[1][a]}))
	}
	return list
}

func NewArranged(a, judged int, share [2]float64) Arranged {
	x := Arranged{Number: a, Digit: DigitsOf(a), Share: share}
	for k := range x.Digit {
		if judged>>k&1 == 0 {
			x.Digit[k] = -1
			continue
		}
		for j := range k {
			if x.Digit[j] >= 0 && x.Digit[j]/2 == x.Digit[k]/2 {
				x.Same = [2]int{j, k}
			}
		}
	}
	return x
}
