package diagnose_test

import (
	"testing"

	"legwork/diagnose"
	"legwork/sim"
)

// What constants without a source do. Change one, and read what is logged:
//
//	go test ./diagnose -run Sensitivity -v
//
// The shares are of all panels of many worlds together: right first explanations, verdicts
// that are wrong, and panels left undecided. The three figures after a constant are their
// changes in points, when it was halved | when it was doubled; "none" is less than a tenth,
// which is three panels. Of what can't be doubled, the distance to its end was: to one for
// shares near one, to a half for stepOn.
func TestSensitivity(t *testing.T) {
	tabulates(t)
	var all told
	for _, loads := range []sim.Mix{sim.MixedLoads(), sim.MotorLoads(), sim.HeatLoads()} {
		for i, b := range []belief{{steps: 0}, {steps: 4}, {info: sim.PowerOnly}} {
			b.name, b.services, b.loads, b.mistakes = "ordinary", wyes, loads, 0.5
			all = all.plus(b.run(t, 150, uint64(21+10*i), rightlyWired))
		}
	}
	for _, c := range strangeLoads() {
		b := belief{name: "strange", services: wyes, loads: c.loads, meter: c.meter, mistakes: 0.5}
		all = all.plus(b.run(t, 60, 22, rightlyWired))
	}
	for _, steps := range []int{0, 3} {
		b := belief{name: "neutral", services: wyes, loads: sim.MixedLoads(), steps: steps, fault: "ct2-on-neutral"}
		all = all.plus(b.run(t, 120, 23, onNeutral))
		b = belief{name: "export", services: wyes, loads: sim.Exporting(sim.MixedLoads(), 0.2, 4), steps: steps}
		all = all.plus(b.run(t, 120, 24, rightlyWired))
		b = belief{name: "reversed", services: wyes, loads: sim.MixedLoads(), steps: steps, fault: "cts-reversed"}
		all = all.plus(b.run(t, 120, 25, rightlyWired))
	}
	b := belief{name: "apart", services: wyes, loads: sim.MixedLoads(), steps: 6, apart: 10, mistakes: 0.5}
	all = all.plus(b.run(t, 120, 26, rightlyWired))
	b = belief{name: "two legs", services: []string{"120/240", "120/208N"}, loads: sim.MixedLoads(), mistakes: 0.5}
	all = all.plus(b.run(t, 120, 27, rightlyWired))
	for _, m := range misreadings() {
		if !unseen(m.name, sim.PowerReactive) {
			b := belief{name: "map", services: wyes, loads: sim.MixedLoads(), info: sim.PowerReactive, mistakes: 0.3, spoil: m.name}
			all = all.plus(b.run(t, 25, 28, causeIs(diagnose.CauseMap)))
		}
	}
	for _, name := range []string{"120/240", "120", "480D", "120/240D"} {
		b := belief{name: "service", services: wyes, loads: sim.MixedLoads(), mistakes: 0.3, declare: func(o *diagnose.Options, _ int) { o.Service = name }}
		all = all.plus(b.run(t, 25, 29, causeIs(diagnose.CauseService)))
	}
	for _, fault := range []string{"v2-low", "v2-on-leg1", "vn-v1-crossed", "neutral-lost"} {
		b := belief{name: "taps", services: wyes, loads: sim.MixedLoads(), fault: fault}
		all = all.plus(b.run(t, 25, 30, func(x diagnose.Explanation, _ sim.Truth) bool { return x.Cause == diagnose.CauseWiring }))
	}
	pct := func(n int) float64 { return 100 * float64(n) / float64(all.panels) }
	wrong := all.panels - all.asked - all.named
	t.Logf("right %.2f  wrong %.2f  undecided %.2f  of %d", pct(all.first), pct(wrong), pct(all.asked), all.panels)
	atLeast(t, 0.88, all.first, all.panels, "right")
	atMost(t, 0.02, wrong, all.panels, "wrong")
	atMost(t, 0.40, all.asked, all.panels, "undecided")
}
