package diagnose_test

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"legwork/diagnose"
	"legwork/probe/reading"
	"legwork/sim"
)

// Every verdict over random panels with every sort of mistake keeps the rules
// of safe work.
func TestAdviceIsSafe(t *testing.T) {
	rng := rand.New(rand.NewPCG(8, 8))
	judged := map[string]int{}
	for _, service := range []string{"120/208Y", "120/240", "120/208N", "230", "480D", "120/240D"} {
		for _, fault := range []string{"", "ct1-reversed", "ct1-open", "v1-dead", "ct2-open,ct1-reversed", "cts-reversed"} {
			for range 15 {
				site, err := sim.RandomSite(rng, service, sim.MixedLoads())
				require.NoError(t, err)
				if err := site.Make(fault); err != nil { // of a channel that a service of one lacks
					require.True(t, service == "230" && strings.Contains(fault, "ct2"), "%s, %s: %v", service, fault,
						err)
					continue
				}
				judged[fault]++
				requireSafe(t, diagnose.Diagnose([]reading.Reading{site.Read()}, diagnose.Options{Tables: tables, Service: service}))
			}
		}
	}
	for fault, n := range judged {
		require.GreaterOrEqual(t, n, 5*15, fault)
	}
	require.Len(t, judged, 6)
}

// A CT that goes silent while it is watched is as dangerous as one that is
// silent from the start, however well it was judged before.
func TestCTThatGoesSilentMayBeOpen(t *testing.T) {
	before, after := sound(), sound()
	c := &after.Channels[1]
	*c = reading.Channel{Voltage: c.Voltage, VoltageAngle: c.VoltageAngle, Current: reading.Known(0.0), Power: reading.Known(0.0)}
	capture := []reading.Reading{before, before, after}
	r := diagnose.Diagnose(capture, diagnose.Options{Tables: tables, Service: "120/208Y"})
	require.Contains(t, r.Cautions[0], "CT 2 may be open")
	requireSafe(t, r)
	require.NotContains(t, strings.Join(diagnose.Diagnose(capture[:2], diagnose.Options{Tables: tables, Service: "120/208Y"}).Cautions, " "), "may be open")
	require.NotContains(t, strings.Join(diagnose.Diagnose(capture, diagnose.Options{Tables: tables, Service: "120/208Y", VoltageOutputCTs: true}).Cautions, " "), "may be open")

	// the same with a fault that is open: no load step, no hands near the CT
	for i := range capture {
		for k := range 2 {
			x := &capture[i].Channels[k]
			x.Angle = reading.Maybe[reading.Angle]{}
			x.Reactive, x.PowerFactor = reading.Value{}, reading.Value{}
			x.Power = x.Power.Map(func(w float64) float64 { return -w / 4 })
		}
	}
	r = diagnose.Diagnose(capture, diagnose.Options{Tables: tables, Service: "120/208Y"})
	require.NotEqual(t, diagnose.Agrees, r.Verdict)
	requireSafe(t, r)
	for _, n := range r.NextTests {
		require.False(t, n.Channel != nil && *n.Channel == 2, n.Ask)
	}
}

func requireSafe(t *testing.T, r diagnose.Result) {
	open := strings.Contains(strings.Join(r.Cautions, " "), "may be open")
	for _, c := range r.Channels {
		if amps, ok := c.Current.Get(); ok && amps == 0 {
			require.True(t, open, "channel %d reads nothing: %v", c.Channel, r.Cautions)
		}
	}
	for _, n := range r.NextTests {
		require.False(t, open && n.Test == "load-step", "a load step while a CT may be open: %s", r.Summary)
	}
	for _, x := range r.Explanations {
		for i, m := range x.Moves {
			all := strings.Join(m.Steps, " ")
			require.NotEmpty(t, r.Cautions)
			if !m.LiveWork {
				require.Contains(t, m.Steps[0], "lock it out")
				require.Contains(t, m.Steps[0], "prove every conductor dead")
			} else if strings.Contains(all, "lead") {
				require.Contains(t, m.Steps[0], "close the shorting block")
				require.Contains(t, m.Steps[len(m.Steps)-1], "Open the shorting blocks last")
			}
			if i > 0 {
				require.True(t, m.LiveWork || !x.Moves[i-1].LiveWork, "least live work comes first")
			}
			if strings.Contains(all, "Exchange the two leads") {
				require.Contains(t, all, "only where neither lead is grounded or shared")
			}
		}
	}
}

// A lost neutral of 120/240: one leg at 180 V, the other at 60 V.
func TestLostNeutralEndsInStop(t *testing.T) {
	r := splitPhase()
	r.Channels[0].Voltage, r.Channels[1].Voltage = reading.Known(180.0), reading.Known(60.0)
	for k := range r.Channels {
		r.Channels[k].Power = reading.Value{}
	}
	got := diagnose.Diagnose([]reading.Reading{r}, diagnose.Options{Tables: tables})
	require.Equal(t, diagnose.Fault, got.Verdict, got.Summary)
	require.Contains(t, got.Summary, "neutral may be lost")
	require.Contains(t, got.Cautions[0], "Stop")
	require.Contains(t, got.Explanations[0].Moves[0].Steps[0], "Stop")
	require.True(t, got.Explanations[0].Moves[0].LiveWork)
	require.Empty(t, got.NextTests)
}

func TestDeclaredServiceThatDoesNotFit(t *testing.T) {
	got := diagnose.Diagnose([]reading.Reading{sound()}, diagnose.Options{Tables: tables, Service: "277/480Y"})
	require.Equal(t, diagnose.Undecided, got.Verdict)
	require.Contains(t, got.Summary, "The voltages fit the service 120/208Y, not 277/480Y")
	require.Equal(t, diagnose.CauseService, got.Explanations[0].Cause)
	require.Equal(t, "120/208Y", got.Explanations[0].Service)
	require.Equal(t, "service", got.NextTests[0].Test)
}

// Turning a CT twice, scaling every load, and relabelling the legs leave the
// verdict in step.
func TestVerdictKeepsStep(t *testing.T) {
	sub := feeder(t, "ieee13_metering_points.csv")[0]
	for _, a := range wyeArrangements() {
		r := sub.wye(2401.78, a)
		got := diagnose.Diagnose([]reading.Reading{r}, diagnose.Options{Tables: tables})

		scaled := r.Clone()
		for k := range scaled.Channels {
			c := &scaled.Channels[k]
			half := func(x float64) float64 { return x / 2 }
			c.Current, c.Power, c.Reactive = c.Current.Map(half), c.Power.Map(half), c.Reactive.Map(half)
		}
		other := diagnose.Diagnose([]reading.Reading{scaled}, diagnose.Options{Tables: tables})
		require.Equal(t, got.Verdict, other.Verdict)
		require.InDelta(t, got.Explanations[0].Probability, other.Explanations[0].Probability, 1e-6)
		require.InDelta(t, got.Explanations[0].Registration.Or(0), other.Explanations[0].Registration.Or(0), 1e-6)

		rolled := r.Clone() // channels 1, 2, 3 called 3, 1, 2: the same panel under other names
		turn := rolled.Channels[1].VoltageAngle.Or(0)
		rolled.Channels = []reading.Channel{rolled.Channels[1], rolled.Channels[2], rolled.Channels[0]}
		for k := range rolled.Channels {
			rolled.Channels[k].VoltageAngle = rolled.Channels[k].VoltageAngle.Map(func(x reading.Angle) reading.Angle { return x.Minus(turn) })
		}
		other = diagnose.Diagnose([]reading.Reading{rolled}, diagnose.Options{Tables: tables})
		require.InDelta(t, got.Explanations[0].Probability, other.Explanations[0].Probability, 0.02, "%v", a)
		require.Equal(t, len(got.Explanations[0].Moves), len(other.Explanations[0].Moves))
	}
}

// Odd data is told and never judged.
func TestOddDataIsNeverJudged(t *testing.T) {
	for name, spoil := range map[string]func(r *reading.Reading){
		"nothing known": func(r *reading.Reading) { *r = reading.Reading{Channels: make([]reading.Channel, 3)} },
		"no channels":   func(r *reading.Reading) { r.Channels = nil },
		"not numbers":   func(r *reading.Reading) { r.Channels[0].Current = reading.Known(math.NaN()) },
		"infinite": func(r *reading.Reading) {
			r.Channels[0].Voltage = reading.Known(math.Inf(1))
			r.Channels[0].Current = reading.Value{}
		},
		"all zero": func(r *reading.Reading) {
			for k := range r.Channels {
				r.Channels[k] = reading.Channel{Voltage: reading.Known(0.0), Current: reading.Known(0.0), Power: reading.Known(0.0)}
			}
		},
		"one channel of three": func(r *reading.Reading) { r.Channels = r.Channels[:1] },
		"negative currents": func(r *reading.Reading) {
			for k := range r.Channels {
				r.Channels[k].Current = reading.Known(-10.0)
			}
		},
	} {
		t.Run(name, func(t *testing.T) {
			r := sound()
			spoil(&r)
			got := diagnose.Diagnose([]reading.Reading{r}, diagnose.Options{Tables: tables, Service: "120/208Y"})
			requireSound(t, got)
			require.NotEqual(t, diagnose.Agrees, got.Verdict, got.Summary)
		})
	}
}
