package diagnose_test

import (
	"fmt"
	"math"
	"math/cmplx"
	"testing"

	"github.com/stretchr/testify/require"

	"legwork/diagnose"
	"legwork/diagnose/wiring"
	"legwork/probe/reading"
)

// branch is one metering point of a published power flow.
type branch struct {
	id   string
	e, j [3]complex128 // V to neutral, A
}

func feeder(t testing.TB, file string) []branch {
	rows := rowsOf(t, file)
	column := map[string]int{}
	for i, name := range rows[0] {
		column[name] = i
	}
	var all []branch
	for _, row := range rows[1:] {
		at := func(size, angle string) complex128 {
			return cmplx.Rect(number(t, row[column[size]]), number(t, row[column[angle]])*math.Pi/180)
		}
		b := branch{id: row[column["id"]]}
		for m, p := range []string{"a", "b", "c"} {
			b.e[m] = at("v"+p+"n_v", "v"+p+"n_deg")
			b.j[m] = at("i"+p+"_a", "i"+p+"_deg")
		}
		all = append(all, b)
	}
	return all
}

func phasor(size, degrees float64) complex128 { return cmplx.Rect(size, degrees*math.Pi/180) }

func deg(z complex128) reading.Angle { return reading.Radians(cmplx.Phase(z)) }

// wye reads the branch on a 277/480Y meter behind voltage transformers that
// bring the feeder's nominal to 277 V, wired in some arrangement.
func (b branch) wye(nominal float64, a wiring.Arrangement) reading.Reading {
	r := reading.Reading{Service: "277/480Y"}
	for k := range 3 {
		v := b.e[k] * complex(277/nominal, 0)
		i := b.j[a[k].Leg-1]
		if a[k].Reversed {
			i = -i
		}
		s := v * cmplx.Conj(i)
		r.Channels = append(r.Channels, reading.Channel{
			Voltage: reading.Known(cmplx.Abs(v)), Current: reading.Known(cmplx.Abs(i)), Angle: reading.Known(deg(v / i)),
			VoltageAngle: reading.Known(deg(b.e[k] / b.e[0])), Power: reading.Known(real(s)), Reactive: reading.Known(imag(s)),
		})
	}
	return r
}

var right = wiring.Arrangement{{Leg: 1}, {Leg: 2}, {Leg: 3}}

// wyeArrangements lists the 48 with one CT a leg.
func wyeArrangements() []wiring.Arrangement {
	var all []wiring.Arrangement
	for _, p := range [][3]wiring.Leg{{1, 2, 3}, {1, 3, 2}, {2, 1, 3}, {3, 2, 1}, {2, 3, 1}, {3, 1, 2}} {
		for turned := range 8 {
			var a wiring.Arrangement
			for k := range 3 {
				a[k] = wiring.CT{Leg: p[k], Reversed: turned>>k&1 == 1}
			}
			all = append(all, a)
		}
	}
	return all
}

// Published kW of the substation, by phase (13-node feeder, 650 to RG60).
func TestPublishedPowerOfTheSubstation(t *testing.T) {
	sub := feeder(t, "ieee13_metering_points.csv")[0]
	r := diagnose.Diagnose([]reading.Reading{sub.wye(2401.78, right)}, diagnose.Options{Tables: tables})
	for k, kw := range []float64{1251.398, 977.332, 1348.461} {
		watts := r.Channels[k].Power.Or(0) * 2401.78 / 277
		require.InEpsilon(t, kw*1000, watts, 0.0002, "phase %d", k+1)
	}
}

func TestRightlyWiredFeederIsNeverAFault(t *testing.T) {
	for _, b := range feeder(t, "ieee13_metering_points.csv") {
		nominal := 2401.78
		if cmplx.Abs(b.e[0]) < 400 {
			nominal = 277
		}
		r := diagnose.Diagnose([]reading.Reading{b.wye(nominal, right)}, diagnose.Options{Tables: tables})
		require.NotEqual(t, diagnose.Fault, r.Verdict, "%s: %s", b.id, r.Summary)
		t.Log(b.id, r.Verdict, r.Summary)
	}
}

// Every one of the 47 wrong arrangements of the substation's CTs is named
// first, or the verdict is open and names it among what remains.
func TestEveryArrangementOfTheSubstation(t *testing.T) {
	sub := feeder(t, "ieee13_metering_points.csv")[0]
	named := 0
	for _, a := range wyeArrangements() {
		r := diagnose.Diagnose([]reading.Reading{sub.wye(2401.78, a)}, diagnose.Options{Tables: tables})
		at := explained(r, a)
		require.GreaterOrEqual(t, at, 0, "%v is not among %s", a, r.Summary)
		if r.Verdict != diagnose.Undecided {
			require.Zero(t, at, "%v was called %s", a, r.Summary)
		}
		if at == 0 {
			named++
		}
	}
	t.Logf("named first: %d of 48", named)
	require.GreaterOrEqual(t, named, 40)
}

// explained is the place of an arrangement among the explanations, or -1.
func explained(r diagnose.Result, a wiring.Arrangement) int {
	var want [3]ctPlace
	for k, c := range a {
		want[k] = ctPlace{int(c.Leg), c.Reversed}
	}
	for i, x := range r.Explanations {
		if matches(x, [][3]ctPlace{want}) {
			return i
		}
	}
	return -1
}

// Registered over true energy of the substation with one CT reversed; derived
// from the published phasors.
func TestRegistrationOfTheSubstation(t *testing.T) {
	sub := feeder(t, "ieee13_metering_points.csv")[0]
	for k, want := range []float64{0.30039, 0.45358, 0.24603} {
		a := right
		a[k].Reversed = true
		r := diagnose.Diagnose([]reading.Reading{sub.wye(2401.78, a)}, diagnose.Options{Tables: tables})
		require.Equal(t, diagnose.Fault, r.Verdict)
		x := r.Explanations[0]
		require.InDelta(t, want, x.Registration.Or(0), 5e-5, x.Words)
		require.LessOrEqual(t, x.RegistrationLow.Or(1), want)
		require.GreaterOrEqual(t, x.RegistrationHigh.Or(0), want)
	}
}

// The balanced table: registration of what each arrangement reads, one unit of
// power a channel. Follows from P = V I cos theta.
func TestBalancedRegistration(t *testing.T) {
	tan := func(phi float64) float64 { return math.Tan(phi * math.Pi / 180) }
	for _, c := range []struct {
		name string
		a    wiring.Arrangement
		phi  float64
		want float64
	}{
		{"right", right, 20, 1},
		{"CT 1 reversed", wiring.Arrangement{{Leg: 1, Reversed: true}, {Leg: 2, Reversed: false}, {Leg: 3, Reversed: false}}, 20, 1.0 / 3},
		{"CTs 1, 2 reversed", wiring.Arrangement{{Leg: 1, Reversed: true}, {Leg: 2, Reversed: true}, {Leg: 3, Reversed: false}}, 20, -1.0 / 3},
		{"all reversed", wiring.Arrangement{{Leg: 1, Reversed: true}, {Leg: 2, Reversed: true}, {Leg: 3, Reversed: true}}, 20, -1},
		{"CTs 2 and 3 crossed", wiring.Arrangement{{Leg: 1, Reversed: false}, {Leg: 3, Reversed: false}, {Leg: 2, Reversed: false}}, 20, 0},
		{"2 and 3 crossed, 2 also reversed", wiring.Arrangement{{Leg: 1, Reversed: false}, {Leg: 3, Reversed: true}, {Leg: 2, Reversed: false}}, 45, 0.9107},
		{"2 and 3 crossed, both reversed", wiring.Arrangement{{Leg: 1, Reversed: false}, {Leg: 3, Reversed: true}, {Leg: 2, Reversed: true}}, 10, 2.0 / 3},
		{"rolled", wiring.Arrangement{{Leg: 2, Reversed: false}, {Leg: 3, Reversed: false}, {Leg: 1, Reversed: false}}, 20, -0.5 - math.Sqrt(3)/2*tan(20)},
		{"rolled the other way", wiring.Arrangement{{Leg: 3, Reversed: false}, {Leg: 1, Reversed: false}, {Leg: 2, Reversed: false}}, 20, -0.5 + math.Sqrt(3)/2*tan(20)},
		{"rolled, all reversed", wiring.Arrangement{{Leg: 2, Reversed: true}, {Leg: 3, Reversed: true}, {Leg: 1, Reversed: true}}, 30, 1},
		{"rolled the other way, all reversed", wiring.Arrangement{{Leg: 3, Reversed: true}, {Leg: 1, Reversed: true}, {Leg: 2, Reversed: true}}, 30, 0},
	} {
		b := branch{}
		for m := range 3 {
			b.e[m] = cmplx.Rect(277, -float64(m)*2*math.Pi/3)
			b.j[m] = b.e[m] / 277 * cmplx.Rect(10, -c.phi*math.Pi/180)
		}
		r := diagnose.Diagnose([]reading.Reading{b.wye(277, c.a)}, diagnose.Options{Tables: tables})
		i := explained(r, c.a)
		require.GreaterOrEqual(t, i, 0, "%s: %s", c.name, r.Summary)
		require.InDelta(t, c.want, r.Explanations[i].Registration.Or(99), 5e-5, fmt.Sprint(c.name, ": ", r.Summary))
	}
}
