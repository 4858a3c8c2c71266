package phasetest

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"legwork/diagnose/wiring"
)

// volts is what a service gives: between a leg and the neutral, and between two
// legs. IEC 60038 Table 1; 0 V on the same leg, about 208 V on another of
// 120/208 and about 240 V on 120/240, and the delta services, are common
// practice, no source. It is written out here, not computed by the package.
type volts struct{ neutral, line float64 }

var published = map[string]volts{
	"120/208Y": {120, 208}, "277/480Y": {277, 480}, "347/600Y": {347, 600}, "230/400Y": {230, 400},
	"120/240": {120, 240}, "120/208N": {120, 208}, "120": {120, 240}, "230": {230, 400},
	"240D": {0, 240}, "480D": {0, 480}, "600D": {0, 600}, "120/240D": {120, 240},
}

// bench is a panel with known wiring, read by someone with a tester.
type bench struct {
	t    Test
	on   []int // leg of each pole from 1; 0 is dead, -1 a leg elsewhere
	high int
	rng  *rand.Rand
}

func benchOf(s wiring.Service, on ...int) *bench {
	return &bench{t: Test{Service: s, Proved: true}, on: on, high: 2, rng: rand.New(rand.NewPCG(1, 2))}
}

// leg is the leg that a point is on, as in on; 9 is the neutral.
func (b *bench) leg(p Point) int {
	switch p.Kind {
	case Leg:
		return p.Number
	case Pole:
		return b.on[p.Number-1]
	}
	return 9
}

// read is what the tester shows: within 4 % of nominal, or a little above 0 V.
func (b *bench) read(p Pair) Reading {
	from, to := b.leg(p.From), b.leg(p.To)
	if b.t.Dead {
		return Reading{Pair: p, Closed: from == to && from != 0}
	}
	v := published[b.t.Service.Name]
	size := v.line
	switch {
	case from == 0 || to == 0 || from == to:
		size = 0
	case to == 9 && b.t.Service.Kind == wiring.HighLegDelta && from == b.high:
		size = 208
	case to == 9:
		size = v.neutral
	}
	if size == 0 {
		return Reading{Pair: p, Volts: b.rng.Float64()}
	}
	return Reading{Pair: p, Volts: size * (0.96 + 0.08*b.rng.Float64())}
}

func (b *bench) plan() []Reading {
	var all []Reading
	for _, p := range b.t.Plan() {
		all = append(all, b.read(p))
	}
	return all
}

// wrongs are readings that would be a slip, a bad contact, or another scale.
func (b *bench) wrongs(r Reading) []Reading {
	if b.t.Dead {
		return []Reading{{Pair: r.Pair, Closed: !r.Closed}}
	}
	v := published[b.t.Service.Name]
	var all []Reading
	for _, x := range []float64{0, v.line * 0.3, v.line / math.Sqrt(3), v.line / 2, v.line * math.Sqrt(3) / 2, v.line,
		v.line * 1.3} {
		if math.Abs(x-r.Volts) > 0.2*v.line {
			all = append(all, Reading{Pair: r.Pair, Volts: x})
		}
	}
	return all
}

// honest checks that a result that is settled is right, and that one that isn't
// asks for a reading.
func (b *bench) honest(t testing.TB, r Result) {
	if r.Verdict == wiring.Undecided {
		require.NotNil(t, r.Next, "%s %v: %s", b.t.Service.Name, b.on, r.Summary)
		return
	}
	right := true
	for k, leg := range b.on {
		want := "no leg"
		if leg > 0 {
			want = LegName(b.t.Service, leg)
		} else if leg < 0 {
			want = "another leg"
		}
		require.Equal(t, want, *r.Poles[k].On, "%s %v: pole %d, %+v", b.t.Service.Name, b.on, k+1, r.Readings)
		right = right && leg == k+1
	}
	require.Equal(t, right, r.Verdict == wiring.Agrees)
}

// settle answers what is asked, truly, until it is settled, and gives how many
// readings that took.
func (b *bench) settle(t testing.TB, readings []Reading) int {
	for n := range 12 {
		r := b.t.Judge(readings)
		b.honest(t, r)
		if r.Verdict != wiring.Undecided {
			return n
		}
		pair, err := b.t.parsePairName(r.Next.Pair)
		require.NoError(t, err)
		readings = append(readings, b.read(pair))
	}
	require.Fail(t, "never settled", "%s %v: %+v", b.t.Service.Name, b.on, readings)
	return 0
}

// parsePairName is the pair of a name that the package wrote.
func (t Test) parsePairName(name string) (Pair, error) {
	parts := pairShape.FindStringSubmatch(name)
	return t.parsePair(parts[1], parts[2])
}

// ways lists every way of n poles on the given places.
func ways(n int, places ...int) [][]int {
	all := [][]int{{}}
	for range n {
		var longer [][]int
		for _, w := range all {
			for _, p := range places {
				longer = append(longer, append(append([]int(nil), w...), p))
			}
		}
		all = longer
	}
	return all
}

func legs(s wiring.Service) []int { return []int{1, 2, 3}[:s.Legs()] }

// first reports the first service of its kind; the others differ in voltage alone.
func first(s wiring.Service) bool {
	for _, one := range wiring.Services() {
		if one.Kind == s.Kind {
			return one.Name == s.Name
		}
	}
	return false
}

// benches are every mapping of poles to legs: live on every service, and dead
// on one of each kind, since continuity knows no voltage.
func benches() []*bench {
	var all []*bench
	for _, s := range wiring.Services() {
		for _, on := range ways(s.Legs(), legs(s)...) {
			all = append(all, benchOf(s, on...))
			if first(s) {
				dead := benchOf(s, on...)
				dead.t.Dead = true
				all = append(all, dead)
			}
		}
	}
	return all
}
