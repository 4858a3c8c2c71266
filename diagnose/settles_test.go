package diagnose_test

import (
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"legwork/diagnose"
	"legwork/probe/reading"
	"legwork/sim"
)

// asks are the sorts of tests that a result names.
func asks(r diagnose.Result) (all []string) {
	for _, n := range r.NextTests {
		all = append(all, n.Test)
	}
	return all
}

// What is open always comes with what would settle it, in sentences that tell a person
// what to do, the questions in the order of their worth; but where nothing is to be
// touched or switched.
func TestWhatIsOpenComesWithWhatSettlesIt(t *testing.T) {
	tabulates(t)
	rng := rand.New(rand.NewPCG(81, 82))
	open := 0
	for _, service := range []string{"120/208Y", "120/240", "120/208N", "230", "480D", "120/240D"} {
		for _, mix := range []sim.Mix{sim.MixedLoads(), sim.LightLoads(), sim.CapacitorLoads(),
			sim.Exporting(sim.MixedLoads(), 1, 3)} {
			for range 25 {
				site, err := sim.RandomSite(rng, service, mix)
				require.NoError(t, err)
				require.NoError(t, site.Mistake(0.5))
				for _, g := range []diagnose.Generation{diagnose.GenerationUnknown, diagnose.GenerationPossible} {
					r := diagnose.Diagnose([]reading.Reading{site.Read()}, diagnose.Options{Tables: tables,
						Service: service, Generation: g})
					if r.Verdict != diagnose.Undecided || r.KeepAway {
						continue
					}
					open++
					require.NotEmpty(t, r.NextTests, r.Summary)
					for _, n := range r.NextTests {
						require.NotContains(t, n.Ask, "bit")
						require.Greater(t, len(strings.Fields(n.Ask)), 4, n.Ask)
					}
					require.Equal(t, g == diagnose.GenerationPossible && slices.Contains(asks(r), "generation"),
						strings.Contains(allAsked(r), "Have what generates switched off"), allAsked(r))
				}
			}
		}
	}
	require.Greater(t, open, 300)
}

func allAsked(r diagnose.Result) string {
	var all []string
	for _, n := range r.NextTests {
		all = append(all, n.Ask)
	}
	return strings.Join(all, "\n")
}

// A leg without load is to be given one; a CT that may be open isn't.
func TestLegsWithoutLoad(t *testing.T) {
	r := sound()
	c := &r.Channels[2]
	*c = reading.Channel{Voltage: c.Voltage, VoltageAngle: c.VoltageAngle, Current: reading.Known(0.4),
		Power: reading.Known(40.0)}
	got := diagnose.Diagnose([]reading.Reading{r}, diagnose.Options{Tables: tables, Service: "120/208Y"})
	require.Equal(t, diagnose.Undecided, got.Verdict)
	require.Contains(t, allAsked(got), "Put more than 1 A on leg 3 and read again")
	c.Current, c.Power = reading.Known(0.0), reading.Known(0.0)
	got = diagnose.Diagnose([]reading.Reading{r}, diagnose.Options{Tables: tables, Service: "120/208Y"})
	require.Equal(t, "silent-ct", got.NextTests[0].Test)
	require.NotContains(t, allAsked(got), "Put more than")
}

// leaning is a wye all of whose legs lag by about so many degrees.
func leaning(lag float64) reading.Reading {
	b := branch{}
	for m := range 3 {
		b.e[m] = phasor(277, -120*float64(m))
		b.j[m] = phasor(40+4*float64(m), -120*float64(m)-lag-2*float64(m))
	}
	return b.wye(277, right)
}

// Legs that all lead, or all lag far, aren't plainly right: what would make them so is
// named with what else it may be, and asked for first.
func TestLegsThatAllLean(t *testing.T) {
	for lag, says := range map[float64]string{-77: "Every leg leads by about 75 degrees",
		-60: "Every leg leads by about 58 degrees",
		80:  "Every leg lags by about 82 degrees"} {
		r := diagnose.Diagnose([]reading.Reading{leaning(lag)}, diagnose.Options{Tables: tables, Service: "277/480Y"})
		require.Equal(t, diagnose.Undecided, r.Verdict, r.Summary)
		require.Contains(t, r.Summary, says)
		require.NotContains(t, r.Summary, "likeliest is that every CT sits where it belongs")
		require.Contains(t, r.Summary, ", or ")
		require.Contains(t, asks(r)[:2], "load", allAsked(r))
	}
	r := diagnose.Diagnose([]reading.Reading{leaning(-77)}, diagnose.Options{Tables: tables, Service: "277/480Y",
		Load: []diagnose.LoadSort{diagnose.Capacitors}})
	require.Equal(t, diagnose.Agrees, r.Verdict, "once it is declared: %s", r.Summary)
}

// Sequence ACB is told with what it may mean, and an indicator that contradicts the
// readings is told too.
func TestSequenceIsTold(t *testing.T) {
	b := branch{}
	for m := range 3 {
		b.e[m] = phasor(277, 120*float64(m))
		b.j[m] = phasor(40+4*float64(m), 120*float64(m)-20)
	}
	o := diagnose.Options{Tables: tables, Service: "277/480Y"}
	r := diagnose.Diagnose([]reading.Reading{b.wye(277, right)}, o)
	require.Contains(t, strings.Join(r.Notes, "\n"),
		"The sequence is ACB: the site's own, or two voltage leads are crossed")
	require.Equal(t, "ACB", *r.Explanations[0].Sequence)
	o.Findings = seen(t, "sequence ABC")
	r = diagnose.Diagnose([]reading.Reading{b.wye(277, right)}, o)
	require.Contains(t, strings.Join(r.Notes, "\n"),
		`"sequence ABC" contradicts the readings, which show ACB: repeat the test`)
	o.Findings = seen(t, "sequence ACB")
	r = diagnose.Diagnose([]reading.Reading{b.wye(277, right)}, o)
	require.NotContains(t, strings.Join(r.Notes, "\n"), "contradicts")
}
