package diagnose_test

import (
	"fmt"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"legwork/diagnose"
	"legwork/diagnose/wiring"
	"legwork/probe/reading"
	"legwork/sim"
)

// technician makes the tests that are recommended at a simulated panel.
type technician struct {
	site    *sim.Site
	service wiring.Service
	rng     *rand.Rand
	look    reading.Reading
}

func legAt(m int) sim.Conductor { return sim.LegA + sim.Conductor(m) }

// arrangementsOf lists the ways with each CT on a leg of its own.
func arrangementsOf(s wiring.Service) []wiring.Arrangement {
	var all []wiring.Arrangement
	var place func(k int, a wiring.Arrangement)
	place = func(k int, a wiring.Arrangement) {
		if k == s.Channels() {
			all = append(all, a)
			return
		}
		for leg := 1; leg <= s.Legs(); leg++ {
			if slices.ContainsFunc(a[:k], func(c wiring.CT) bool { return int(c.Leg) == leg }) {
				continue
			}
			for _, reversed := range []bool{false, true} {
				a[k] = wiring.CT{Leg: wiring.Leg(leg), Reversed: reversed}
				place(k+1, a)
			}
		}
	}
	place(0, wiring.Arrangement{})
	return all
}

// arrive makes a panel of a service whose CTs are arranged so.
func arrive(t *testing.T, rng *rand.Rand, s wiring.Service, a wiring.Arrangement, info sim.Information) *technician {
	site, err := sim.RandomSite(rng, s.Name, sim.MixedLoads())
	require.NoError(t, err)
	for k := range s.Channels() {
		site.Wiring.CTs[k].Round, site.Wiring.CTs[k].Turned = legAt(int(a[k].Leg)-1), a[k].Reversed
	}
	x := &technician{site: site, service: s, rng: rng, look: site.Read()}
	info.Strip(&x.look)
	return x
}

// answer makes a test and says what was seen; nothing for a test that no
// sentence answers.
func (x *technician) answer(n diagnose.NextTest) []string {
	truth := x.site.Truth()
	switch n.Test {
	case "load-step":
		return x.step(*n.Leg)
	case "look":
		word := map[bool]string{false: "right", true: "wrong"}[truth.Turned[*n.Channel-1]]
		return []string{fmt.Sprintf("ct %d arrow %s", *n.Channel, word)}
	case "trace":
		return []string{fmt.Sprintf("ct %d on leg %d", *n.Channel, truth.Round[*n.Channel-1]-sim.LegA+1)}
	case "clamp":
		f := x.site.Panel.Flow(false)
		return []string{fmt.Sprintf("clamp leg %d: %.2f A", *n.Leg, f.In(legAt(*n.Leg-1)).RMS())}
	case "sequence":
		return []string{"sequence " + truth.Sequence.String()}
	case "voltage":
		var i, k int
		_, _ = fmt.Sscanf(n.Ask[strings.Index(n.Ask, "inputs "):], "inputs %d and %d", &i, &k)
		return []string{fmt.Sprintf("input %d to input %d: line", i, k)}
	}
	return nil
}

// first answers the first test that a sentence answers.
func (x *technician) first(tests []diagnose.NextTest) []string {
	for _, n := range tests {
		if told := x.answer(n); told != nil {
			return told
		}
	}
	return nil
}

// step switches a load of an ordinary kind on on a leg, and looks at what the
// channels do.
func (x *technician) step(leg int) []string {
	before := x.site.Panel.Flow(false)
	load := sim.Load{Kind: sim.Heat, Across: sim.ToNeutral(legAt(leg - 1)), VA: 900, Lag: []float64{0, 0, 5, 20, 35}[x.rng.IntN(5)]}
	if x.service.Kind == wiring.Delta {
		load.Across = sim.Between(legAt(leg-1), sim.LegB)
	}
	panel := x.site.Panel
	panel.Loads = append(slices.Clone(panel.Loads), load)
	after := panel.Flow(false)
	from, to := x.site.Wiring.See(&before), x.site.Wiring.See(&after)
	var seen []string
	for k := range x.service.Channels() {
		change := to[k].Current.Fundamental - from[k].Current.Fundamental
		watts := real(to[k].Voltage * cmplx.Conj(change))
		va := cmplx.Abs(to[k].Voltage) * cmplx.Abs(change)
		switch {
		case cmplx.Abs(change) < 0.5:
		case math.Abs(watts) < 0.2*va && x.service.Kind != wiring.Delta:
			seen = append(seen, fmt.Sprintf("ct %d on leg %d", k+1, leg))
		case watts > 0:
			seen = append(seen, fmt.Sprintf("leg %d on: channel %d up", leg, k+1))
		default:
			seen = append(seen, fmt.Sprintf("leg %d on: channel %d down", leg, k+1))
		}
	}
	if seen == nil {
		return []string{fmt.Sprintf("leg %d on: nothing", leg)}
	}
	return seen
}

// settle makes up to so many of the recommended tests, one after the other, and
// stops as soon as enough says so.
func (x *technician) settle(t *testing.T, most int, enough func(diagnose.Result) bool) (r diagnose.Result, answers []string) {
	look := []reading.Reading{x.look}
	r = diagnose.Diagnose(look, diagnose.Options{Tables: tables, Generation: diagnose.GenerationNone, Service: x.service.Name})
	for range most {
		told := x.first(r.NextTests)
		if told == nil || enough(r) {
			break
		}
		answers = append(answers, told...)
		r = diagnose.Diagnose(look, diagnose.Options{Tables: tables, Generation: diagnose.GenerationNone, Service: x.service.Name, Findings: seen(t, answers...)})
	}
	return r, answers
}

// namesOnly reports that the first explanation is an arrangement and no other.
func namesOnly(r diagnose.Result, a wiring.Arrangement) bool {
	return explained(r, a) == 0 && len(r.Explanations[0].Twins) == 0
}

// led counts what became of the looks at one service.
type led struct{ twins, byFirst, byMore, open, settled, wrong int }

func (c *led) follow(t *testing.T, x *technician, a wiring.Arrangement) {
	r, _ := x.settle(t, 0, nil)
	names := func(r diagnose.Result) bool { return namesOnly(r, a) }
	decided := func(r diagnose.Result) bool { return r.Verdict != diagnose.Undecided }
	switch {
	case explained(r, a) == 0 && r.Verdict == diagnose.Fault && len(r.Explanations[0].Twins) > 0:
		c.twins++
		require.NotEmpty(t, r.NextTests, r.Summary)
		if first, _ := x.settle(t, 1, names); names(first) {
			c.byFirst++
		} else if more, _ := x.settle(t, 4, names); names(more) {
			c.byMore++
		}
	case !decided(r) && explained(r, a) >= 0:
		c.open++
		r, answers := x.settle(t, 4, decided)
		if decided(r) && explained(r, a) == 0 {
			c.settled++
		} else if decided(r) {
			c.wrong++
			t.Logf("%v, told %q: %s", a, answers, r.Summary)
		}
	}
}

// Over all services, all arrangements and all that a meter may give: of what
// reads alike the first test that is recommended leaves the truth alone,
// whichever it is. On a four-wire delta some pairs need more: the high leg stands
// at 90 degrees to the others, so that a load on it moves the power of a channel
// beside it neither way. What one look leaves open is settled by four tests in
// most cases, and hardly ever wrong.
func TestRecommendedTestsLeadToTheTruth(t *testing.T) {
	tabulates(t)
	for name, least := range map[string]struct{ first, settled float64 }{"120/208Y": {1, 0.9}, "120/240": {1, 0.9}, "120/208N": {1, 0.9},
		"230": {1, 0.9}, "480D": {1, 0.9}, "120/240D": {0.75, 0.8}} {
		s, err := wiring.ParseService(name)
		require.NoError(t, err)
		var c led
		for info := sim.Everything; info <= sim.PowerOnly; info++ {
			rng := rand.New(rand.NewPCG(11, uint64(info)))
			all := arrangementsOf(s)
			for range max(1, 48/len(all)) {
				for _, a := range all {
					c.follow(t, arrive(t, rng, s, a, info), a)
				}
			}
		}
		t.Logf("%-9s %+v", name, c)
		require.GreaterOrEqual(t, float64(c.byFirst), least.first*float64(c.twins), name)
		require.GreaterOrEqual(t, float64(c.byFirst+c.byMore), 0.97*float64(c.twins), name)
		require.GreaterOrEqual(t, float64(c.settled), least.settled*float64(c.open), name)
		require.LessOrEqual(t, float64(c.wrong), 0.04*float64(c.open), name)
	}
}
