package diagnose

import (
	"sync"

	"legwork/diagnose/wiring"
)

// model is what is known of one kind of service before any reading: the
// density of load angles and, for every set of judged channels, the
// arrangements with their priors.
type model struct {
	shape     panelShape
	densities [classes]lazyDensity
	phrases   phrases
	lists     [8][]arranged   // by the set of judged channels, a bit a channel
	twins     [8][3]*twinSets // sequence known Forward, known Backward, not known
}

// arranged is one arrangement of the judged channels.
type arranged struct {
	number int    // digits of channels that aren't judged are 0
	digit  [3]int // -1 where not judged
	share  [2]float64
	same   [2]int // two channels whose CTs share a leg; both 0 where none do
}

var models = struct {
	sync.Mutex
	of map[shapeKey]*model
}{of: map[shapeKey]*model{}}

type shapeKey struct {
	kind wiring.Kind
	high wiring.Leg
}

// modelOf gives the model of a service; the first call makes it.
func modelOf(s wiring.Service) *model {
	models.Lock()
	defer models.Unlock()
	key := shapeKey{s.Kind, s.HighLeg}
	m := models.of[key]
	if m == nil {
		m = &model{shape: shapeOf(s)}
		p := makePrior(s)
		for judged := range m.lists {
			if judged < 1<<s.Channels() {
				m.lists[judged] = arrange(p, s, judged)
				m.pairTwins(s, judged)
			}
		}
		models.of[key] = m
	}
	return m
}

// lazyDensity is made when it is first asked for.
type lazyDensity struct {
	once sync.Once
	d    *density
}

// density gives the table for a class of currents.
func (m *model) density(class int) *density {
	l := &m.densities[class]
	l.once.Do(func() { l.d = deriveDensity(m.shape, class) })
	return l.d
}

func (m *model) pairTwins(s wiring.Service, judged int) {
	known := []wiring.Sequence{wiring.Forward, wiring.Backward}
	for i, q := range known {
		m.twins[judged][i] = makeTwins(s, m.lists[judged], []wiring.Sequence{q})
	}
	m.twins[judged][2] = makeTwins(s, m.lists[judged], s.Sequences())
}

// arrange lists the arrangements of the judged channels; the priors of what
// the others may be are summed.
func arrange(p *prior, s wiring.Service, judged int) []arranged {
	var sum prior
	for a := range arrangements {
		d := digitsOf(a)
		for k := range d {
			if judged>>k&1 == 0 {
				d[k] = 0
			}
		}
		for q := range sum {
			sum[q][numberOf(d)] += p[q][a]
		}
	}
	var list []arranged
	for a := range arrangements {
		if sum[0][a]+sum[1][a] == 0 {
			continue
		}
		list = append(list, newArranged(a, judged, [2]float64{sum[0][a], sum[1][a]}))
	}
	return list
}

func newArranged(a, judged int, share [2]float64) arranged {
	x := arranged{number: a, digit: digitsOf(a), share: share}
	for k := range x.digit {
		if judged>>k&1 == 0 {
			x.digit[k] = -1
			continue
		}
		for j := range k {
			if x.digit[j] >= 0 && x.digit[j]/2 == x.digit[k]/2 {
				x.same = [2]int{j, k}
			}
		}
	}
	return x
}
