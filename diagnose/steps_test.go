package diagnose_test

import (
	"testing"

	"legwork/sim"
)

func TestAccuracyTenSteps(t *testing.T) {
	t.Log(accuracyHead)
	for _, g := range []regime{
		{"120/208Y", "mixed", sim.Everything, 10},
		{"120/208Y", "mixed", sim.NoVoltageAngles, 10},
		{"120/208Y", "mixed", sim.PowerOnly, 10},
		{"120/208Y", "heat", sim.Everything, 10},
		{"120/208Y", "motors", sim.Everything, 10},
	} {
		r := g.run(t, 300, 1)
		t.Log(r.row(g))
	}
}
