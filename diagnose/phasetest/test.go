package phasetest

import (
	"fmt"

	"legwork/diagnose/wiring"
)

// Test is one phase test: on what, how, and for which CTs. The zero value of
// every field but Service is useful.
type Test struct {
	// Service is what the panel is fed by. Its HighLeg may be NoLeg: then the
	// readings tell which leg stands high.
	Service wiring.Service
	// Dead says that continuity is read on dead conductors, not volts.
	Dead bool
	// Before says that the tester was proved before the test.
	Before bool
	// Proved says that the tester was proved on a known source (a continuity
	// tester on its own leads) before and after. Without it nothing is settled.
	Proved bool
	// On says where the CTs go; empty is OnMains.
	On Mounting
	// Colours is the colour code of the conductors; empty is none.
	Colours wiring.ColourCode
	// Wires are the colours of the legs' conductors as a person wrote them down,
	// leg 1 first; they go before the code.
	Wires [3]string
}

// Poles is how many poles the voltage taps have: one for each leg, also on a
// three-wire delta, where leg B is the common of both elements.
func (t Test) Poles() int { return t.Service.Legs() }

// method is how it is made.
func (t Test) method() string {
	if t.Dead {
		return "dead"
	}
	return "live"
}

// Reading is one reading of the tester.
type Reading struct {
	Pair   Pair
	Volts  float64 // AC rms, never below zero; of a live test
	Closed bool    // of a continuity test
	Said   string  // what the tester showed, such as "0.2 ohm", where Closed says less
}

// Mounting says where the CTs go.
type Mounting string

// Where CTs go.
const (
	OnMains  Mounting = "mains"  // round the conductors that feed the panel
	OnBranch Mounting = "branch" // round those that leave a breaker for a load
)

// ParseMounting reads mains or branch.
func ParseMounting(text string) (Mounting, error) {
	if m := Mounting(text); m == OnMains || m == OnBranch {
		return m, nil
	}
	return "", fmt.Errorf("%q is not mains or branch", text)
}
