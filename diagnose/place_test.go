package diagnose_test

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"legwork/diagnose"
	"legwork/probe/reading"
	"legwork/probe/regmap"
	"legwork/sim"
)

// bank keeps registers, as a meter does between its inside and the wire.
type bank map[regmap.Table]map[uint16]uint16

func (b bank) SetWords(t regmap.Table, address uint16, words []uint16) {
	if b[t] == nil {
		b[t] = map[uint16]uint16{}
	}
	for i, w := range words {
		b[t][address+uint16(i)] = w
	}
}

func (b bank) blocks(plan []regmap.Request) []regmap.Block {
	var all []regmap.Block
	for _, r := range plan {
		block := regmap.Block{Request: r}
		for i := range r.Count {
			block.Words = append(block.Words, b[r.Table][r.Address+i])
		}
		all = append(all, block)
	}
	return all
}

// throughRegisters is the reading of a place as its register map gives it.
func throughRegisters(t *testing.T, name, fault string, seed uint64) (*sim.Place, reading.Reading) {
	start := time.Date(2026, 5, 4, 9, 30, 0, 0, time.UTC)
	p, err := sim.Open(name, sim.Options{Fault: fault, Seed: seed, Start: start})
	require.NoError(t, err)
	m, err := regmap.Parse(p.Map())
	require.NoError(t, err)
	b := bank{}
	r := p.At(start)
	m.Encode(&r, b)
	out := reading.Reading{At: start}
	m.Decode(b.blocks(m.Plan(regmap.Limits{})), &out)
	return p, out
}

// Every place with every fault, five seeds each: what is said is never wrong.
// The truth is the first explanation or a twin of it, or the verdict is open
// and lists it.
func TestEveryPlaceWithEveryFault(t *testing.T) {
	tabulates(t)
	decided, all := 0, 0
	for _, name := range sim.Names() {
		for _, fault := range []string{"", "ct1-reversed", "ct2-reversed", "ct3-reversed", "ct1-ct2-crossed", "ct1-ct3-crossed", "ct2-ct3-crossed",
			"cts-rolled", "cts-reversed", "ct2-on-leg1", "v1-v2-crossed", "ct2-ct3-crossed,ct2-reversed"} {
			for seed := range uint64(5) {
				p, err := sim.Open(name, sim.Options{Fault: fault, Seed: seed})
				if err != nil {
					require.True(t, strings.Contains(err.Error(), "channels") || strings.Contains(err.Error(), "needs"), err)
					continue
				}
				r := judgePlace(t, p, name, fault, seed)
				all++
				if r.Verdict != diagnose.Undecided {
					decided++
				}
			}
		}
	}
	t.Logf("%d of %d decided", decided, all)
	require.Greater(t, float64(decided), 0.7*float64(all))
}

func judgePlace(t *testing.T, p *sim.Place, name, fault string, seed uint64) diagnose.Result {
	place, in := throughRegisters(t, name, fault, seed)
	r := diagnose.Diagnose([]reading.Reading{in}, diagnose.Options{Tables: tables, Service: p.Service(), Generation: diagnose.GenerationNone})
	want := placesOf(place.Truth(), len(in.Channels))
	at := -1
	for i := len(r.Explanations) - 1; i >= 0; i-- {
		if matches(r.Explanations[i], [][3]ctPlace{want}) {
			at = i
		}
	}
	require.GreaterOrEqual(t, at, 0, "%s %s seed %d: truth %v isn't listed: %s", name, fault, seed, want, r.Summary)
	if r.Verdict != diagnose.Undecided {
		require.Zero(t, at, "%s %s seed %d: truth %v, said %s", name, fault, seed, want, r.Summary)
		require.Equal(t, fault != "", r.Verdict == diagnose.Fault, "%s %s seed %d: %s", name, fault, seed, r.Summary)
	}
	return r
}

// What the voltages show by themselves is named whatever the loads are.
func TestVoltageFaultsAreNamed(t *testing.T) {
	for _, name := range sim.Names() {
		for fault, state := range map[string]diagnose.InputState{"v2-dead": diagnose.InputDead, "vn-v1-crossed": diagnose.InputNeutralCrossed} {
			_, in := throughRegisters(t, name, fault, 0)
			r := diagnose.Diagnose([]reading.Reading{in}, diagnose.Options{Tables: tables, Service: servicesOf(t, name)})
			require.Equal(t, diagnose.Fault, r.Verdict, "%s %s: %s", name, fault, r.Summary)
			channel := map[string]int{"v2-dead": 1, "vn-v1-crossed": 0}[fault]
			require.Equal(t, state, r.Explanations[0].Voltage[channel].State, "%s %s", name, fault)
		}
	}
}

func servicesOf(t *testing.T, name string) string {
	p, err := sim.Open(name, sim.Options{})
	require.NoError(t, err)
	return p.Service()
}

// A CT that gives nothing leaves its channel unjudged, and no load step is advised.
func TestOpenCTIsUndecidedWithoutALoadStep(t *testing.T) {
	for _, name := range sim.Names() {
		_, in := throughRegisters(t, name, "ct2-open", 0)
		r := diagnose.Diagnose([]reading.Reading{in}, diagnose.Options{Tables: tables, Service: servicesOf(t, name)})
		require.Equal(t, diagnose.Undecided, r.Verdict, "%s: %s", name, r.Summary)
		require.Equal(t, diagnose.StateUnloaded, r.Channels[1].State)
		require.Nil(t, r.Explanations[0].CT[1].Leg)
		require.False(t, r.Explanations[0].Registration.Known())
		require.Contains(t, r.Cautions[0], "CT 2 may be open")
		for _, n := range r.NextTests {
			require.NotEqual(t, "load-step", n.Test)
		}
	}
}

// All voltage inputs on one leg: seen by the angles between the voltages alone.
func TestAllInputsOnOneLeg(t *testing.T) {
	for seed := range uint64(5) {
		_, in := throughRegisters(t, "kiln-house", "v2-on-leg1,v3-on-leg1", seed)
		for k := range in.Channels {
			in.Channels[k].VoltageAngle = reading.Known(reading.Angle(0.2 * float64(k)))
		}
		r := diagnose.Diagnose([]reading.Reading{in}, diagnose.Options{Tables: tables, Service: "120/208Y"})
		require.Equal(t, diagnose.Fault, r.Verdict, r.Summary)
		require.Contains(t, r.Summary, "All voltage inputs are on one conductor")
		require.Contains(t, strings.Join(r.Explanations[0].Moves[0].Steps, "; "), "Move voltage input 3 to the conductor of leg 3")
	}
}
