package diagnose

import "math"

// Panels have habits: one hangs full of motors, another of heat between legs. So
// the changes of one panel are not independent of each other: a case sums over
// sorts of panel, under each of which they are. Without that a panel of idling
// motors alone would seem stranger with every one that comes on.

// kindMixes are the sorts by kind of load: the usual shares, or one of the first
// four kinds a favourite.
const kindMixes = 5

// angles are the density of an angle under each sort by kind.
type angles [kindMixes]float64

// How common the sorts are, and by how much a favourite's share is raised, as in
// the panel model (panel.go).
const (
	usualKinds    = 0.6
	favouredKinds = (1 - usualKinds) / (kindMixes - 1)
	favoured      = 15
)

// placeMix is a sort of panel by where its loads hang: the shares of the changes
// that are of one leg, of two, of three alike.
type placeMix struct{ share, one, two, three float64 }

// The sorts by place. Assumptions of ours, no source.
var placeMixes = [...]placeMix{
	{0.55, stepOneLeg, stepTwoLegs, stepThree},
	{0.15, 0.80, 0.09, 0.08},
	{0.15, 0.15, 0.75, 0.07},
	{0.15, 0.20, 0.07, 0.70},
}

// sorts are all pairs of a sort by kind and one by place.
const sorts = kindMixes * len(placeMixes)

// priorOf is how common one of the sorts is.
func priorOf(sort int) float64 {
	share := placeMixes[sort/kindMixes].share
	if sort%kindMixes == 0 {
		return share * usualKinds
	}
	return share * favouredKinds
}

// ownAngles makes the table of one load's own angle under each sort by kind.
func ownAngles(finish func(t []float32, axes int), shareOf func(loadKind) float64) []angles {
	all := make([]angles, cells)
	for mix := range kindMixes {
		t := make([]float32, cells)
		for i, k := range loadKinds {
			share := shareOf(k)
			if i == mix-1 {
				share *= favoured
			}
			for x := k.low; x <= k.top; x++ {
				t[cell(x)] += float32(share / (k.top - k.low + 1))
			}
		}
		finish(t, 1)
		for c := range all {
			all[c][mix] = float64(t[c])
		}
	}
	return all
}

// manners are the densities of a change, by how many legs it is of, under each sort
// by kind; any is that which depends on no sort.
type manners struct {
	one, two, three angles
	any             float64
}

// under is the density under one sort.
func (p *manners) under(sort int) float64 {
	kind, place := sort%kindMixes, &placeMixes[sort/kindMixes]
	return place.one*p.one[kind] + place.two*p.two[kind] + place.three*p.three[kind] + p.any
}

// scale multiplies all of them.
func (p *manners) scale(by float64) {
	for i := range p.one {
		p.one[i] *= by
		p.two[i] *= by
		p.three[i] *= by
	}
	p.any *= by
}

func (a *angles) add(b *angles, times float64) {
	for i := range a {
		a[i] += times * b[i]
	}
}

// times is the density of two loads together, under each sort by kind.
func (a angles) times(b angles) angles {
	for i := range a {
		a[i] *= b[i]
	}
	return a
}

// mean is over the sorts by kind, as common as they are.
func (a *angles) mean() float64 {
	sum := usualKinds * a[0]
	for _, x := range a[1:] {
		sum += favouredKinds * x
	}
	return sum
}

// filter carries the weight of every sort of panel, and of every vector of signs
// within it, over the changes of one case.
type filter struct {
	alpha [sorts][8]float64
	signs int
}

func newFilter(signs int) *filter {
	f := &filter{signs: signs}
	for s := range f.alpha {
		for c := range signs {
			f.alpha[s][c] = priorOf(s) / float64(signs)
		}
	}
	return f
}

// settle makes the weights sum to one and gives the logarithm of what they were.
func (f *filter) settle() float64 {
	var sum float64
	for s := range f.alpha {
		for _, p := range f.alpha[s][:f.signs] {
			sum += p
		}
	}
	if sum <= 0 {
		return math.Inf(-1)
	}
	for s := range f.alpha {
		for c := range f.signs {
			f.alpha[s][c] /= sum
		}
	}
	return math.Log(sum)
}
