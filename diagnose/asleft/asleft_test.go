package asleft_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"legwork/diagnose"
	"legwork/diagnose/asleft"
	"legwork/probe/reading"
	"legwork/sim"
)

var (
	tables = diagnose.NewTables()
	judge  = asleft.New()
)

// drift is what the load of each leg does while conductors are moved, one standard
// deviation or, within, evenly up to it.
type drift struct {
	size, degrees float64
	evenly        bool
}

func (d drift) draw(rng *rand.Rand) float64 {
	if d.evenly {
		return 2*rng.Float64() - 1
	}
	return rng.NormFloat64()
}

// apply lets the current of every channel drift by itself: a CT on a conductor of its own
// reads one leg.
func (d drift) apply(r *reading.Reading, rng *rand.Rand) {
	for k := range r.Channels {
		c := &r.Channels[k]
		by := math.Exp(d.size * d.draw(rng))
		turn := d.degrees * d.draw(rng)
		if a, ok := c.Angle.Get(); ok {
			c.Angle = reading.Known(reading.Degrees(float64(a) + turn))
		}
		p, q := c.Power.Or(0), c.Reactive.Or(0)
		sin, cos := math.Sincos(turn * math.Pi / 180)
		c.Power = c.Power.Map(func(float64) float64 { return by * (p*cos - q*sin) })
		c.Reactive = c.Reactive.Map(func(float64) float64 { return by * (q*cos + p*sin) })
		c.Current = c.Current.Map(func(a float64) float64 { return by * a })
		c.Apparent, c.PowerFactor, c.CurrentAngle = reading.Value{}, reading.Value{}, reading.Maybe[reading.Angle]{}
	}
}

// job is a panel that was found wired wrong.
type job struct {
	site   *sim.Site
	before diagnose.Result
	info   sim.Information
}

func newJob(t *testing.T, rng *rand.Rand, service string, info sim.Information) *job {
	for range 1000 {
		site, err := sim.RandomSite(rng, service, sim.MixedLoads())
		require.NoError(t, err)
		require.NoError(t, site.Mistake(1))
		r := site.Read()
		info.Strip(&r)
		before := diagnose.Diagnose([]reading.Reading{r}, diagnose.Options{Tables: tables, Service: service,
			Generation: diagnose.GenerationNone})
		if before.Verdict == diagnose.Fault {
			return &job{site, before, info}
		}
	}
	require.Fail(t, "no fault in 1000 panels")
	return nil
}

// leave reads the panel once it is wired so, and compares.
func (j *job) leave(w sim.Wiring, d drift, rng *rand.Rand) []asleft.Compared {
	j.site.Wiring = w
	full := j.site.Read()
	d.apply(&full, rng)
	j.info.Strip(&full)
	after := diagnose.Diagnose([]reading.Reading{full}, diagnose.Options{Tables: tables, Service: full.Service,
		Generation: diagnose.GenerationNone})
	return judge.Compare(&j.before, &after)
}

// asPredicted reports a job all of whose channels that could be compared were.
func asPredicted(all []asleft.Compared) bool {
	met := 0
	for _, c := range all {
		switch c.Outcome {
		case asleft.Met:
			met++
		case asleft.Missed, asleft.LoadChanged:
			return false
		}
	}
	return met > 0
}

// wrong is a repair that went wrong: nothing was moved, one CT too many was turned, or
// another mistake was made on the way.
func (j *job) wrong(rng *rand.Rand, found sim.Wiring) sim.Wiring {
	w := found
	switch rng.IntN(3) {
	case 1:
		w.TurnCT(1 + rng.IntN(len(j.before.Channels)))
	case 2:
		j.site.Wiring = sim.RightWiring(j.site.Panel.Supply)
		_ = j.site.Mistake(1)
		w = j.site.Wiring
	}
	if w == sim.RightWiring(j.site.Panel.Supply) {
		return found
	}
	return w
}

// sound reports wiring that registers what flows: right, or wrong on a channel without
// current, or (two legs at 180 degrees) exchanged and turned as well, which reads alike.
func (j *job) sound() bool {
	truth := j.site.Truth()
	return math.Abs(truth.Registered-truth.Power) < 0.02*math.Abs(truth.Power)
}

// A right repair under ordinary drift is as predicted, a wrong one isn't, in 99 of 100
// jobs over all rows; 97 in each row, of which chance takes its share.
func TestRepairsUnderDrift(t *testing.T) {
	if testing.Short() {
		t.Skip("a table of shares has nothing to race")
	}
	rng := rand.New(rand.NewPCG(21, 22))
	even, normal := drift{0.2, 20, true}, drift{0.2, 20, false}
	t.Log("service   information drift  right as predicted  wrong as predicted")
	var all share
	for _, c := range []struct {
		service string
		info    sim.Information
		d       drift
	}{
		{"120/208Y", sim.Everything, even},
		{"120/208Y", sim.Everything, normal},
		{"277/480Y", sim.PowerReactive, even},
		{"230/400Y", sim.PowerOnly, even},
		{"120/240", sim.Everything, even},
		{"120/208N", sim.NoVoltageAngles, even},
		{"120/240D", sim.Everything, even},
		{"480D", sim.Everything, even},
		{"230", sim.PowerOnly, even},
	} {
		row := repairs(t, rng, c.service, c.info, c.d)
		t.Logf("%-9s %-11s %-6s %s", c.service, c.info, map[bool]string{true: "even", false: "normal"}[c.d.evenly], row)
		require.Greater(t, row.wrongs, repairsARow/2.0)
		require.GreaterOrEqual(t, row.rightMet, 0.97*repairsARow, c.service)
		require.LessOrEqual(t, row.wrongMet, 0.03*row.wrongs, c.service)
		all = share{all.rightMet + row.rightMet, all.wrongMet + row.wrongMet, all.rights + row.rights, all.wrongs +
			row.wrongs}
	}
	t.Log("all rows", all)
	require.GreaterOrEqual(t, all.rightMet, 0.99*all.rights)
	require.LessOrEqual(t, all.wrongMet, 0.01*all.wrongs)
}

const repairsARow = 150

// share counts repairs, and those of them that were as predicted.
type share struct{ rightMet, wrongMet, rights, wrongs float64 }

func (s share) String() string {
	return fmt.Sprintf("%5.1f %% of %3.0f  %5.1f %% of %3.0f", 100*s.rightMet/s.rights, s.rights,
		100*s.wrongMet/s.wrongs, s.wrongs)
}

// repairs leaves panels right, and then wrong.
func repairs(t *testing.T, rng *rand.Rand, service string, info sim.Information, d drift) share {
	row := share{rights: repairsARow}
	for range repairsARow {
		j := newJob(t, rng, service, info)
		found := j.site.Wiring
		if asPredicted(j.leave(sim.RightWiring(j.site.Panel.Supply), d, rng)) {
			row.rightMet++
		}
		all := j.leave(j.wrong(rng, found), d, rng)
		if j.sound() {
			continue
		}
		row.wrongs++
		if asPredicted(all) {
			row.wrongMet++
		}
	}
	return row
}
