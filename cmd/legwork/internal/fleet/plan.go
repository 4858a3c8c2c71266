package fleet

import (
	"fmt"
	"math/rand/v2"

	"legwork/sim"
)

// Options say what is served.
type Options struct {
	Meters int
	Wires  int // 0 is one for each 20 meters
	Seed   uint64
}

// Manner is how a gateway behaves.
type Manner string

// The manners.
const (
	Plain  Manner = "plain"
	Single Manner = "one-connection" // closes every connection beyond the first
	Slow   Manner = "slow"           // waits before each answer
	Serial Manner = "rtu"            // RTU frames, as a converter has them
	Mute   Manner = "silent"         // takes connections and never answers
)

// plan is a meter before it is served.
type plan struct {
	name, under string
	fault       string
	seed        uint64
	silent      bool // nothing answers for its unit
}

// gateway is one wire with the meters behind it; the first one is the main.
type gateway struct {
	building string
	place    string
	manner   Manner
	meters   []plan
}

// Shares of what isn't as usual. Our choice.
const (
	faultShare  = 0.25
	silentShare = 0.02
)

// plans draws the yard.
func plans(o Options) []gateway {
	wires := o.Wires
	if wires <= 0 {
		wires = (o.Meters + 19) / 20
	}
	wires = max(1, min(wires, o.Meters))
	rng := rand.New(rand.NewPCG(o.Seed, 20))
	all := make([]gateway, wires)
	draw := drawer{rng, map[string][]string{}}
	suite := 0
	for i := range all {
		g := &all[i]
		g.building, g.place, g.manner = fmt.Sprintf("Building %d", i+1), sim.Names()[i%len(sim.Names())], mannerOf(i)
		n := o.Meters*(i+1)/wires - o.Meters*i/wires
		main := fmt.Sprintf("building-%d-main", i+1)
		for k := range n {
			p := plan{name: main, seed: rng.Uint64() | 1}
			if k > 0 || n == 1 {
				suite++
				p.name, p.under = fmt.Sprintf("suite-%d", suite), main
				p.fault = draw.fault(g.place)
				p.silent = rng.Float64() < silentShare
			}
			if n == 1 {
				p.under = ""
			}
			g.meters = append(g.meters, p)
		}
	}
	return all
}

// mannerOf spreads the manners over the gateways, every one within the first six.
func mannerOf(i int) Manner {
	switch {
	case i%25 == 5:
		return Mute
	case i%5 == 1:
		return Single
	case i%7 == 2:
		return Slow
	case i%7 == 3:
		return Serial
	}
	return Plain
}

// faults are those that readings can show.
var faults = []string{"ct1-reversed", "ct2-reversed", "ct3-reversed", "ct1-ct2-crossed", "ct2-ct3-crossed",
	"cts-rolled", "ct2-on-leg1", "ct1-ct2-crossed,ct1-reversed", "ct2-open", "v2-dead"}

// drawer draws faults that a place can have.
type drawer struct {
	rng *rand.Rand
	can map[string][]string // by place
}

// fault is one, or none; the dice fall alike for every place.
func (d *drawer) fault(place string) string {
	wrong, pick := d.rng.Float64() < faultShare, d.rng.IntN(1<<30)
	if !wrong {
		return ""
	}
	if d.can[place] == nil {
		d.can[place] = possible(place)
	}
	return d.can[place][pick%len(d.can[place])]
}

func possible(place string) []string {
	can := []string{}
	p, err := sim.Open(place, sim.Options{})
	if err != nil {
		return []string{""}
	}
	for _, f := range faults {
		if _, err := sim.ParseMistakes(p.Service(), f); err == nil {
			can = append(can, f)
		}
	}
	return can
}
