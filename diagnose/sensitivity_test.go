package diagnose_test

import (
	"flag"
	"fmt"
	"testing"

	"legwork/diagnose"
	"legwork/sim"
)

var sensitivity = flag.Bool("sensitivity", false, "print what a change of a constant costs, over many worlds")

// What a constant without a source does: change it, and run
//
//	go test ./diagnose -run Sensitivity -v -sensitivity
//
// The shares are of all panels of many worlds together: right first explanations, verdicts
// that are wrong, and panels left undecided. The effects beside the constants were found so.
func TestSensitivity(t *testing.T) {
	if !*sensitivity {
		t.Skip("asked for with -sensitivity")
	}
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
	fmt.Printf("right %.2f  wrong %.2f  undecided %.2f  of %d\n", pct(all.first), pct(wrong), pct(all.asked), all.panels)
}
