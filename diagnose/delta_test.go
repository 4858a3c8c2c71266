package diagnose_test

import (
	"math"
	"math/cmplx"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"legwork/diagnose"
	"legwork/diagnose/wiring"
	"legwork/probe/reading"
)

// twoElements reads a three-wire branch: AB with the CT of A, CB with that of
// C, behind voltage transformers that bring the line voltage to 480 V.
func (b branch) twoElements(line float64, a wiring.Arrangement) reading.Reading {
	r := reading.Reading{Service: "480D"}
	scale := complex(480/line, 0)
	volts := [2]complex128{(b.e[0] - b.e[1]) * scale, (b.e[2] - b.e[1]) * scale}
	for k := range volts {
		i := b.j[a[k].Leg-1]
		if a[k].Reversed {
			i = -i
		}
		s := volts[k] * cmplx.Conj(i)
		r.Channels = append(r.Channels, reading.Channel{
			Voltage: reading.Known(cmplx.Abs(volts[k])), Current: reading.Known(cmplx.Abs(i)), Angle: reading.Known(deg(volts[k] / i)),
			VoltageAngle: reading.Known(deg(volts[k] / volts[0])), Power: reading.Known(real(s)), Reactive: reading.Known(imag(s)),
		})
	}
	return r
}

var rightDelta = wiring.Arrangement{{Leg: 1}, {Leg: 3}}

// The two elements of the substation add up to the published 2521.827 kW
// (37-node feeder, 799 to RG7).
func TestTwoElementsAddUpToThePublishedPower(t *testing.T) {
	sub := feeder(t, "ieee37_metering_points.csv")[0]
	r := sub.twoElements(4800, rightDelta)
	watts := (r.Channels[0].Power.Or(0) + r.Channels[1].Power.Or(0)) * 4800 / 480
	require.InEpsilon(t, 2521.827e3, watts, 0.0002)
}

func TestRightlyWiredDeltaFeederIsNeverAFault(t *testing.T) {
	agrees, all := 0, feeder(t, "ieee37_metering_points.csv")
	for _, b := range all {
		r := diagnose.Diagnose([]reading.Reading{b.twoElements(4800, rightDelta)}, diagnose.Options{Tables: tables})
		require.NotEqual(t, diagnose.Fault, r.Verdict, "%s: %s", b.id, r.Summary)
		if r.Verdict == diagnose.Agrees {
			agrees++
		}
		require.Equal(t, "ABC", *r.Explanations[0].Sequence)
	}
	t.Logf("%d of %d agree, the others are open", agrees, len(all))
	require.Greater(t, agrees, len(all)/2)
}

// Registration with CTs wrong, against the ratios derived from the published phasors.
func TestRegistrationOfTheDeltaSubstation(t *testing.T) {
	sub := feeder(t, "ieee37_metering_points.csv")[0]
	for name, c := range map[string]struct {
		a    wiring.Arrangement
		want float64
	}{
		"CT A reversed":    {wiring.Arrangement{{Leg: 1, Reversed: true}, {Leg: 3}}, 0.32322},
		"CT C reversed":    {wiring.Arrangement{{Leg: 1}, {Leg: 3, Reversed: true}}, -0.32322},
		"both reversed":    {wiring.Arrangement{{Leg: 1, Reversed: true}, {Leg: 3, Reversed: true}}, -1},
		"crossed":          {wiring.Arrangement{{Leg: 3}, {Leg: 1}}, -0.18642},
		"crossed reversed": {wiring.Arrangement{{Leg: 3, Reversed: true}, {Leg: 1, Reversed: true}}, 0.18642},
	} {
		r := diagnose.Diagnose([]reading.Reading{sub.twoElements(4800, c.a)}, diagnose.Options{Tables: tables})
		i := explained(r, c.a)
		require.GreaterOrEqual(t, i, 0, "%s: %s", name, r.Summary)
		require.InDelta(t, c.want, r.Explanations[i].Registration.Or(9), 1e-4, name)
	}
}

// The 48 ways to connect two elements at balanced load: registration at three
// power factors, as computed from definitions.
func TestFortyEightTwoElementConnections(t *testing.T) {
	found := 0
	for _, row := range rowsOf(t, "derived_3wire_48_misconnections.csv")[1:] {
		for column, pf := range map[int]float64{6: 1, 7: 0.9, 9: 0.5} {
			found++
			require.InDelta(t, number(t, row[column]), connection(row[0], row[1], pf), 1e-4, "%s %s at %g", row[0], row[1], pf)
		}
	}
	require.Equal(t, 48*3, found)
}

// connection is the registration of one way, from the diagnosis's own geometry.
func connection(terminals, currents string, pf float64) float64 {
	s, _ := wiring.ParseService("480D")
	e := s.LegPhasors(wiring.Forward)
	phi := math.Acos(pf)
	leg := func(name byte) complex128 { return e[name-'a'] }
	amps := func(text string) complex128 {
		j := leg(text[1]) / complex(cmplx.Abs(leg(text[1])), 0) * cmplx.Rect(1, -phi)
		if text[0] == '-' {
			j = -j
		}
		return j
	}
	i := strings.Split(currents, ",")
	v1, v2 := leg(terminals[0])-leg(terminals[1]), leg(terminals[2])-leg(terminals[1])
	measured := real(v1*cmplx.Conj(amps(i[0]))) + real(v2*cmplx.Conj(amps(i[1])))
	var actual float64
	for m := range 3 {
		actual += real(e[m] * cmplx.Conj(amps("+"+string(rune('a'+m)))))
	}
	return measured / actual
}

// Two wattmeters on a balanced load (solved-problems pages; the table of power
// factor against W / (V I)).
func TestTwoWattmeterTable(t *testing.T) {
	s, _ := wiring.ParseService("480D")
	e, in := s.LegPhasors(wiring.Forward), s.InputPhasors(wiring.Forward)
	for pf, want := range map[float64][2]float64{1: {.8660, .8660}, .9: {.5615, .9974}, .8: {.3928, .9928}, .5: {0, .8660}, .259: {-.2586, .7072}} {
		for k, m := range []int{0, 2} {
			j := e[m] / complex(cmplx.Abs(e[m]), 0) * cmplx.Rect(1, -math.Acos(pf))
			require.InDelta(t, want[k], real(in[k]*cmplx.Conj(j)), 2e-4, "pf %g, element %d", pf, k+1)
		}
	}
}

// A broken lead of a two-element meter reads 0, 33, 50, 67 or 100 %, depending
// on what else hangs on it (a work instruction for checking wrong wiring, 100 V
// secondary): none of these passes for sound.
func TestOpenPhasePatterns(t *testing.T) {
	for _, share := range [][2]float64{{0, 1}, {.5, .5}, {1, 0}, {.5, 1}, {1, .33}, {.67, .33}} {
		r := feeder(t, "ieee37_metering_points.csv")[0].twoElements(4800, rightDelta)
		for k := range r.Channels {
			c := &r.Channels[k]
			c.Voltage, c.Power, c.Reactive, c.VoltageAngle = reading.Known(480*share[k]), reading.Value{}, reading.Value{}, reading.Maybe[reading.Angle]{}
			if share[k] == 0 {
				c.Angle = reading.Maybe[reading.Angle]{}
			}
		}
		if share == [2]float64{.5, .5} { // an open common lead; without the angles it could be a 240 V service
			r.Channels[0].VoltageAngle, r.Channels[1].VoltageAngle = reading.Known(reading.Angle(0)), reading.Known(reading.Angle(180))
		}
		got := diagnose.Diagnose([]reading.Reading{r}, diagnose.Options{Tables: tables, Service: "480D"})
		want := diagnose.Fault
		if share == [2]float64{.5, .5} { // and with them it could be, if the declaration is wrong
			want = diagnose.Undecided
			require.Equal(t, "service", got.NextTests[0].Test)
		}
		require.Equal(t, want, got.Verdict, "%v: %s", share, got.Summary)
		for k, x := range share {
			state := got.Explanations[0].Voltage[k].State
			require.Equal(t, x == 1, state == diagnose.InputLive, "%v: %s", share, state)
			require.Equal(t, x == 0, state == diagnose.InputDead, "%v: %s", share, state)
		}
	}
}
