package diagnose_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"legwork/diagnose"
	"legwork/probe/reading"
	"legwork/sim"
)

// The tables here are of panels that the program was told something wrong
// about, or that are unlike those its model knows. Nothing in them is taken
// from the program: the panels, the mistakes and the spoilt readings are the
// simulator's.

// belief is one thing that is taken for granted, and wrong.
type belief struct {
	name     string
	services []string // of the panels
	loads    sim.Mix
	info     sim.Information
	steps    int     // changes of load after the first look
	apart    int     // loads switched from one look to the next; 0 for one
	drift    int     // seconds of ordinary drift from one look to the next
	mistakes float64 // share of panels that are wired wrong besides
	fault    string  // made on every panel
	spoil    string  // what a wrong map makes of every reading
	declare  func(o *diagnose.Options, panel int)
	meter    func(m *sim.Meter)
}

// told is what the person is told over many panels.
type told struct {
	panels int
	agrees int // exit status 0
	moved  int // a move in the panel is given
	called int // a fault is called that isn't there, or another than the one that is
	first  int // the first explanation has the right cause (and, for wiring, the right arrangement)
	named  int // decided, and right
	asked  int // undecided, with what would settle it
	silent int // undecided without a word on what would settle it
}

var wyes = []string{"120/208Y", "277/480Y", "230/400Y"}

// reads takes the readings of one panel through the wrong map.
func (b belief) reads(t testing.TB, site *sim.Site) []reading.Reading {
	var all []reading.Reading
	for step := range b.steps + 1 {
		for range min(step, 1) * max(b.apart, 1) {
			site.Step()
		}
		for range b.drift {
			site.Drift()
		}
		r := site.Read()
		r.Service = ""
		if b.spoil != "" {
			misread(t, b.spoil, &r)
		}
		b.info.Strip(&r)
		all = append(all, r)
	}
	return all
}

// site draws the panel of a belief.
func (b belief) site(t testing.TB, rng *rand.Rand, service string) *sim.Site {
	for {
		site, err := sim.RandomSite(rng, service, b.loads)
		require.NoError(t, err)
		if b.meter != nil {
			b.meter(site.Meter)
		}
		require.NoError(t, site.Make(b.fault))
		require.NoError(t, site.Mistake(b.mistakes))
		if loaded(site) {
			return site
		}
	}
}

// loaded reports that every leg carries 4 A or more, so that nothing is open for want of load.
func loaded(site *sim.Site) bool {
	for _, l := range site.Truth().Legs {
		if l.Current < 4 {
			return false
		}
	}
	return true
}

// run tells what is said of panels under a wrong belief. The cause is the one
// that should lead; right says whether an explanation is the true one.
func (b belief) run(t testing.TB, panels int, seed uint64, right func(x diagnose.Explanation, truth sim.Truth) bool) told {
	var sum told
	rng := rand.New(rand.NewPCG(seed, uint64(len(b.name))))
	for i := range panels {
		service := b.services[i%len(b.services)]
		site := b.site(t, rng, service)
		o := diagnose.Options{Service: service, Tables: tables}
		if b.declare != nil {
			b.declare(&o, i)
		}
		sound := len(site.Made) == 0
		sum.add(diagnose.Diagnose(b.reads(t, site), o), site.Truth(), sound, right)
	}
	return sum
}

func (s *told) add(r diagnose.Result, truth sim.Truth, sound bool, right func(diagnose.Explanation, sim.Truth) bool) {
	s.panels++
	is := len(r.Explanations) > 0 && right(r.Explanations[0], truth)
	if is {
		s.first++
	}
	if r.Verdict == diagnose.Fault && len(r.Explanations[0].Moves) > 0 {
		s.moved++
	}
	switch r.Verdict {
	case diagnose.Agrees:
		s.agrees++
		if is {
			s.named++
		}
	case diagnose.Fault:
		if is {
			s.named++
		} else {
			s.called++
		}
	default:
		s.asked++
		if len(r.NextTests) == 0 {
			s.silent++
		}
	}
}

func (s told) row(name string) string {
	pct := func(n int) float64 { return 100 * float64(n) / float64(s.panels) }
	return fmt.Sprintf("%-46s %5d %7.1f %7.1f %7.1f %7.1f %7.1f %7.1f %7.1f", name, s.panels,
		pct(s.agrees), pct(s.called), pct(s.moved), pct(s.first), pct(s.named), pct(s.asked), pct(s.silent))
}

const toldHead = "what was wrong                                 panels  agrees  called   moved   first   named   asked  silent"

// has reports that at most a share of the panels.
func atMost(t *testing.T, share float64, n, of int, what string) {
	t.Helper()
	require.LessOrEqual(t, float64(n), share*float64(of), what)
}

func atLeast(t *testing.T, share float64, n, of int, what string) {
	t.Helper()
	require.GreaterOrEqual(t, float64(n), share*float64(of), what)
}

func causeIs(c diagnose.Cause) func(diagnose.Explanation, sim.Truth) bool {
	return func(x diagnose.Explanation, _ sim.Truth) bool { return x.Cause == c }
}

// A service that isn't the declared one: never exit status 0 and never a move.
func TestWorldsWrongService(t *testing.T) {
	tabulates(t)
	t.Log(toldHead)
	for _, declared := range []string{"120/240", "120/208N", "120", "240D", "480D", "120/240D"} {
		for _, info := range []sim.Information{sim.Everything, sim.PowerOnly} {
			b := belief{name: "a wye declared " + declared + ", " + info.String(), services: wyes, loads: sim.MixedLoads(), info: info, mistakes: 0.4,
				declare: func(o *diagnose.Options, _ int) { o.Service = declared }}
			s := b.run(t, 200, 11, causeIs(diagnose.CauseService))
			t.Log(s.row(b.name))
			require.Zero(t, s.agrees, b.name)
			require.Zero(t, s.silent, b.name)
			require.Zero(t, s.moved, b.name)
			atLeast(t, 0.97, s.first, s.panels, b.name)
		}
	}
}

// A map that misreads the meter, panels wired right and wrong: never exit status 0
// and never a move. What turns P over reads like all CTs reversed but for the angle.
func TestWorldsWrongMap(t *testing.T) {
	tabulates(t)
	t.Log(toldHead)
	for _, m := range misreadings() {
		for _, info := range []sim.Information{sim.Everything, sim.PowerReactive, sim.PowerOnly} {
			b := belief{name: m.name + ", " + info.String(), services: []string{"120/208Y", "230/400Y", "120/240"}, loads: sim.MixedLoads(), info: info, mistakes: 0.3, spoil: m.name}
			s := b.run(t, 200, 12, causeIs(diagnose.CauseMap))
			t.Log(s.row(b.name))
			if unseen(m.name, info) {
				continue
			}
			atMost(t, 0.02, s.agrees, s.panels, b.name) // P a tenth with Q there, angles near 0: nothing is wrong with the verdict
			require.Zero(t, s.moved, b.name)
			require.Zero(t, s.silent, b.name)
			atLeast(t, 0.95, s.first, s.panels, b.name)
		}
	}
}

// unseen is what no reading can show: with P turned over and no angle, or with lag
// for lead and no angle of the current by itself, all ties hold.
func unseen(misreading string, info sim.Information) bool {
	switch misreading {
	case "power turned over":
		return info >= sim.PowerReactive
	case "lag for lead":
		return info != sim.Everything
	case "current times 0.1", "current times 10", "power times 0.1":
		return info == sim.PowerOnly
	}
	return false
}

// onNeutral is right where the explanation has a CT on the neutral where one is.
func onNeutral(x diagnose.Explanation, truth sim.Truth) bool {
	for k, c := range x.CT {
		if (truth.Round[k] == sim.Neutral) != (c.On == "neutral") {
			return false
		}
	}
	return x.Cause == diagnose.CauseWiring
}

// One CT on the neutral, either way round.
func TestWorldsCTOnTheNeutral(t *testing.T) {
	tabulates(t)
	t.Log(toldHead)
	for _, look := range []struct {
		steps, drift   int
		agrees, called float64 // at most
	}{{0, 0, 0.16, 0.06}, {3, 0, 0.035, 0.02}, {3, 5, 0.06, 0.03}} {
		var all told
		for i, loads := range []sim.Mix{sim.MixedLoads(), sim.MotorLoads(), sim.HeatLoads()} {
			var part told
			for k := 1; k <= 3; k++ {
				for _, turned := range []string{"", fmt.Sprintf(",ct%d-reversed", k)} {
					b := belief{name: fmt.Sprint("CT on neutral", look.steps, k, turned), services: wyes, loads: loads, steps: look.steps, drift: look.drift, fault: fmt.Sprintf("ct%d-on-neutral%s", k, turned)}
					s := b.run(t, 40, 13, onNeutral)
					part = part.plus(s)
					all = all.plus(s)
				}
			}
			t.Log(part.row(fmt.Sprint(i)))
		}
		t.Log(all.row(fmt.Sprintf("CT on the neutral, %d changes, %d s of drift", look.steps, look.drift)))
		require.Zero(t, all.silent)
		atMost(t, look.agrees, all.agrees, all.panels, "agrees")
		atMost(t, look.called, all.called, all.panels, "called")
	}
}

// In a neutral harmonics add up while fundamentals cancel: that is no wrong map.
func TestWorldsCTOnADistortedNeutral(t *testing.T) {
	tabulates(t)
	t.Log(toldHead)
	for _, turned := range []string{"", ",ct2-reversed"} {
		for _, info := range []sim.Information{sim.Everything, sim.PowerReactive} {
			b := belief{services: wyes, loads: sim.Distorted(), fault: "ct2-on-neutral" + turned, info: info}
			maps := b.run(t, 200, 16, causeIs(diagnose.CauseMap))
			s := b.run(t, 200, 16, onNeutral)
			t.Log(s.row("CT on a distorted neutral" + turned + ", " + info.String()))
			atMost(t, 0.08, maps.first, maps.panels, "the map is blamed")
			atLeast(t, 0.15, s.first, s.panels, "first")
			require.Zero(t, s.silent)
		}
	}
}

// Readings far apart in time, between which many loads came and went: what stays on is
// no evidence anew, and a sound panel isn't left undecided.
func TestWorldsManyLoadsAtOnce(t *testing.T) {
	tabulates(t)
	t.Log(toldHead)
	for _, fault := range []string{"", "ct1-reversed", "ct1-ct2-crossed"} {
		var all told
		for _, loads := range []sim.Mix{sim.MixedLoads(), sim.MotorLoads(), sim.HeatLoads()} {
			b := belief{services: wyes, loads: loads, steps: 8, apart: 12, fault: fault}
			all = all.plus(b.run(t, 100, 18, rightlyWired))
		}
		t.Log(all.row("many loads at once " + fault))
		atLeast(t, 0.90, all.named, all.panels, fault)
		atMost(t, 0.01, all.called, all.panels, fault)
	}
}

// A CT on the neutral is moved to its leg whichever way round it sits: the way may stay
// open, and then it is absent.
func TestNeutralEitherWay(t *testing.T) {
	rng := rand.New(rand.NewPCG(19, 0))
	open := 0
	for range 60 {
		b := belief{services: wyes, loads: sim.MixedLoads(), steps: 3, fault: "ct2-on-neutral"}
		site := b.site(t, rng, "230/400Y")
		r := diagnose.Diagnose(b.reads(t, site), diagnose.Options{Service: "230/400Y", Tables: tables})
		if r.Verdict != diagnose.Fault || r.Explanations[0].CT[1].On != "neutral" {
			continue
		}
		for _, set := range r.Explanations[0].Twins {
			require.NotEqual(t, r.Explanations[0].CT, set)
		}
		if r.Explanations[0].CT[1].Reversed == nil {
			open++
			require.NotEmpty(t, r.Explanations[0].Moves)
		}
	}
	require.Greater(t, open, 3)
}

// What that costs panels that are wired right.
func TestWorldsRightPanelsStayDecided(t *testing.T) {
	tabulates(t)
	b := belief{name: "rightly wired", services: wyes, loads: sim.MixedLoads()}
	s := b.run(t, 1000, 14, func(x diagnose.Explanation, _ sim.Truth) bool { return true })
	t.Log(toldHead)
	t.Log(s.row(b.name))
	require.Zero(t, s.called)
	atMost(t, 0.06, s.asked, s.panels, "questions on ordinary panels")
}

func (s told) plus(o told) told {
	s.panels, s.agrees, s.moved, s.called = s.panels+o.panels, s.agrees+o.agrees, s.moved+o.moved, s.called+o.called
	s.first, s.named, s.asked, s.silent = s.first+o.first, s.named+o.named, s.asked+o.asked, s.silent+o.silent
	return s
}

// rightlyWired is right where the explanation leaves every conductor where it is.
func rightlyWired(x diagnose.Explanation, truth sim.Truth) bool {
	want := placesOf(truth, len(x.CT))
	return matches(x, [][3]ctPlace{want})
}

// Power flows back and nobody said so.
func TestWorldsExportNotSpokenOf(t *testing.T) {
	tabulates(t)
	t.Log(toldHead)
	for _, c := range []struct {
		steps int
		wrong float64
	}{{0, 0.03}, {3, 0.02}} {
		var all told
		for _, loads := range []sim.Mix{sim.MixedLoads(), sim.MotorLoads(), sim.HeatLoads()} {
			b := belief{name: fmt.Sprint("export", c.steps), services: wyes, loads: sim.Exporting(loads, 0.2, 4), steps: c.steps}
			s := b.run(t, 200, 15, rightlyWired)
			t.Log(s.row(fmt.Sprintf("export 0.2 to 4 times the load, %d changes", c.steps)))
			all = all.plus(s)
		}
		atMost(t, c.wrong, all.called, all.panels, "a wrong wiring called")
		require.Zero(t, all.silent)
	}
	b := belief{name: "all reversed", services: wyes, loads: sim.MixedLoads(), fault: "cts-reversed"}
	s := b.run(t, 400, 16, rightlyWired)
	t.Log(s.row("all CTs reversed, no generation"))
	atLeast(t, 0.71, s.named, s.panels, "all CTs reversed")
	atLeast(t, 0.98, s.first, s.panels, "all CTs reversed")
}

// A day of readings, with the sun: what one look leaves open.
func TestWorldsADay(t *testing.T) {
	tabulates(t)
	t.Log(toldHead)
	for _, c := range []struct {
		name, fault            string
		exports, tireless      bool    // not only by day
		missed, called, decide float64 // called right, or wrongly a fault, at most; decided rightly at least
	}{
		{"export", "", true, false, 0, 0.005, 0.84},
		{"all reversed", "cts-reversed", false, false, 0, 0.02, 0.95},
		{"all reversed, and export", "cts-reversed", true, false, 0.08, 0.01, 0.2},
		{"rightly wired", "", false, false, 0, 0.006, 0.93},
		// Rarer than what it looks like: all CTs reversed.
		{"export at all hours", "", true, true, 0, 0.02, 0.3},
	} {
		var all told
		for i, loads := range []sim.Mix{sim.MixedLoads(), sim.MotorLoads(), sim.HeatLoads()} {
			if c.exports {
				loads = sim.Exporting(loads, 0.2, 4)
			}
			b := belief{services: wyes, loads: loads, fault: c.fault}
			rng := rand.New(rand.NewPCG(31, uint64(i)))
			for panel := range 60 {
				o := diagnose.Options{Service: wyes[panel%len(wyes)], Tables: tables}
				site := b.site(t, rng, o.Service)
				r := diagnose.Diagnose(b.readsOfADay(t, site, c.tireless), o)
				all.add(r, site.Truth(), c.fault == "", rightlyWired)
			}
		}
		t.Log(all.row(c.name + ", over a day"))
		atMost(t, c.called, all.called, all.panels, c.name)
		if c.fault != "" {
			atMost(t, c.missed, all.agrees, all.panels, c.name)
		}
		atLeast(t, c.decide, all.named, all.panels, c.name)
	}
}

// readsOfADay reads every 90 minutes; three loads are switched between. Inverters follow
// the sun, but for a tireless engine.
func (b belief) readsOfADay(t testing.TB, site *sim.Site, tireless bool) (all []reading.Reading) {
	full := map[int]float64{}
	for i, l := range site.Panel.Loads {
		if l.Kind == sim.Generation {
			full[i] = l.VA
		}
	}
	day := b
	day.steps, day.apart = 0, 0
	for k := range 16 {
		sun := math.Sin((1.5*float64(k) - 6) / 12 * math.Pi)
		if tireless {
			sun = 1
		}
		for i, va := range full {
			site.Panel.Loads[i].VA = va * max(sun, 0.001)
		}
		for range 3 {
			site.Step()
		}
		r := day.reads(t, site)[0]
		r.At = time.Date(2026, 5, 4, 0, 30+90*k, 0, 0, time.UTC)
		all = append(all, r)
	}
	return all
}

// strange is a sort of load that the simulator's own panels don't have.
type oddLoads struct {
	name         string
	loads        sim.Mix
	meter        func(*sim.Meter)
	moving       bool
	called, once float64 // called and wrong at most: undeclared, and declared
	declare      []diagnose.LoadSort
}

func strangeLoads() []oddLoads {
	return []oddLoads{
		{"all lead by 20 to 55", sim.AllAt(-55, -20), nil, false, 0.05, 0.01, []diagnose.LoadSort{diagnose.Lighting, diagnose.Electronics}},
		{"all lag by 40 to 70", sim.AllAt(40, 70), nil, false, 0.03, 0.015, []diagnose.LoadSort{diagnose.Motors}},
		{"heat from -40 to +10", sim.AllAt(-40, 10), nil, false, 0.03, 0.015, []diagnose.LoadSort{diagnose.Heating, diagnose.Electronics}},
		{"motors from 50 to 75", sim.AllAt(50, 75), nil, false, 0.045, 0.015, []diagnose.LoadSort{diagnose.Motors}},
		{"a bank, -60 to -90", sim.CapacitorLoads(), nil, false, 0.055, 0.015, []diagnose.LoadSort{diagnose.Capacitors}},
		{"one welder between two legs", sim.OneWelder(), nil, false, 0.03, 0.015, []diagnose.LoadSort{diagnose.Motors}},
		{"distorted by 30 to 110 %", sim.Distorted(), nil, false, 0.03, 0.015, []diagnose.LoadSort{diagnose.Electronics, diagnose.Drives}},
		{"whole amperes and 0.1 kW", sim.MixedLoads(), func(m *sim.Meter) { m.CoarseSteps = true }, false, 0.03, 0.015, nil},
		{"read while the load moves", sim.MixedLoads(), nil, true, 0.03, 0.015, nil},
	}
}

// Loads unlike the simulator's, wired right and wrong, undeclared and declared.
func TestWorldsStrangeLoads(t *testing.T) {
	tabulates(t)
	t.Log("loads                           info             declared  false  called undec. right*")
	for _, c := range strangeLoads() {
		for _, info := range []sim.Information{sim.Everything, sim.NoVoltageAngles, sim.PowerOnly} {
			for _, declared := range []bool{false, true} {
				s := c.run(t, info, declared, 300)
				t.Logf("%-31s %-17s %-8v %5.2f %6.2f %6.2f %6.2f", c.name, info, declared, 100*float64(s.falseAlarms)/float64(max(1, s.sound)),
					100*float64(s.decided-s.rightDecided)/float64(s.panels), 100*float64(s.panels-s.decided)/float64(s.panels), 100*float64(s.rightDecided)/float64(max(1, s.decided)))
				most := c.called
				if declared {
					most = c.once
				}
				alarms := 0.005
				if c.name == "one welder between two legs" {
					alarms = 0.03 // a single load between two legs alone reads like CTs on one conductor
				}
				atMost(t, alarms+1/float64(s.sound), s.falseAlarms, s.sound, c.name+" false alarms")
				atMost(t, most, s.decided-s.rightDecided, s.panels, c.name+" called and wrong")
			}
		}
	}
}

func (c oddLoads) run(t testing.TB, info sim.Information, declared bool, panels int) (sum tally) {
	rng := rand.New(rand.NewPCG(17, uint64(len(c.name))))
	for i := range panels {
		service := wyes[i%len(wyes)]
		site := belief{loads: c.loads, meter: c.meter, mistakes: 0.4}.site(t, rng, service)
		r := site.Read
		if c.moving {
			r = site.ReadWhileMoving
		}
		in := r()
		info.Strip(&in)
		o := diagnose.Options{Service: service, Tables: tables}
		if declared {
			o.Load = c.declare
		}
		truth := site.Truth()
		sum.outcome(diagnose.Diagnose([]reading.Reading{in}, o), [][3]ctPlace{placesOf(truth, 3)}, len(site.Made) == 0, false, diagnose.DefaultDecide)
	}
	return sum
}

// A voltage tap that is low, dead, shared or exchanged with the neutral:
// registration and what is expected after the move follow from the phasors.
func TestWorldsVoltageTaps(t *testing.T) {
	tabulates(t)
	t.Log("fault            service    given  holds   half   expect within 3 % of VA")
	for _, service := range []string{"120/208Y", "230/400Y", "120/240", "120/208N"} {
		for _, fault := range []string{"v2-low", "vn-v1-crossed", "v2-on-leg1", "v2-dead"} {
			if service == "120/240" && fault == "v2-on-leg1" {
				continue // both inputs on one leg read like a neutral exchanged
			}
			var given, holds, expected, within int
			var width float64
			rng := rand.New(rand.NewPCG(18, uint64(len(fault))))
			const panels = 200
			for range panels {
				b := belief{loads: sim.MixedLoads(), fault: fault}
				site := b.site(t, rng, service)
				r := diagnose.Diagnose([]reading.Reading{site.Read()}, diagnose.Options{Service: service, Tables: tables})
				require.NotEqual(t, diagnose.Agrees, r.Verdict, "%s %s", service, fault)
				if len(r.Explanations) == 0 {
					continue
				}
				x, truth := r.Explanations[0], site.Truth()
				if low, ok := x.RegistrationLow.Get(); ok {
					given++
					width += x.RegistrationHigh.Or(0) - low
					if is := truth.Registered / truth.Power; is >= low && is <= x.RegistrationHigh.Or(0) {
						holds++
					}
				}
				for _, e := range x.Expect {
					if p, ok := e.Power.Get(); ok {
						l := truth.Legs[e.Channel-1]
						expected++
						if d := p - l.Power; max(d, -d) <= 0.03*l.Voltage*l.Current {
							within++
						}
					}
				}
			}
			t.Logf("%-16s %-9s %6.1f %6.1f %6.3f %6.1f of %d", fault, service, 100*float64(given)/panels, 100*float64(holds)/float64(max(given, 1)),
				width/2/float64(max(given, 1)), 100*float64(within)/float64(max(expected, 1)), expected)
			atLeast(t, 0.93, holds, given, fault+" "+service)
			if fault != "v2-dead" {
				atLeast(t, 0.5, given, panels, fault+" "+service+": registration given")
				atLeast(t, 0.93, within, expected, fault+" "+service+": expected powers")
			}
		}
	}
}
