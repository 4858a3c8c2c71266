package phasetest

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"legwork/diagnose/wiring"
)

func testOn(t testing.TB, name string) Test {
	s, err := wiring.ParseService(name)
	require.NoError(t, err)
	return Test{Service: s, Proved: true}
}

func TestReadingsAsPeopleTypeThem(t *testing.T) {
	for text, want := range map[string]Reading{
		"A-1 0.3 V":         {Pair: cross(1, 1), Volts: 0.3},
		"a-1 0,3V":          {Pair: cross(1, 1), Volts: 0.3},
		"  A - 1   208 ":    {Pair: cross(1, 1), Volts: 208},
		"A–1: 208 V":        {Pair: cross(1, 1), Volts: 208},
		"A to 1 = 208 V AC": {Pair: cross(1, 1), Volts: 208},
		"A-1 208vac":        {Pair: cross(1, 1), Volts: 208},
		"A-1 208 v":         {Pair: cross(1, 1), Volts: 208},
		"A-1 350 mV":        {Pair: cross(1, 1), Volts: 0.35},
		"A-1 0,208 kV":      {Pair: cross(1, 1), Volts: 208},
		"2-C 120":           {Pair: cross(3, 2), Volts: 120},
		"L3-P2 120":         {Pair: cross(3, 2), Volts: 120},
		"N-1 120 V":         {Pair: tap(1), Volts: 120},
		"1-N 120 V":         {Pair: tap(1), Volts: 120},
		"B-A 208 V":         {Pair: Pair{Point{Leg, 1}, Point{Leg, 2}}, Volts: 208},
		"P2-P1 208 V":       {Pair: Pair{Point{Pole, 1}, Point{Pole, 2}}, Volts: 208},
		"A-1 -0 V":          {Pair: cross(1, 1)},
	} {
		got, err := testOn(t, "120/208Y").ParseReading(text)
		require.NoError(t, err, text)
		require.Equal(t, want.Pair, got.Pair, text)
		require.InDelta(t, want.Volts, got.Volts, 1e-9, text)
		require.False(t, math.Signbit(got.Volts), text)
	}
}

// Where the legs have numbers, the first of two digits is the leg.
func TestReadingsWhereLegsHaveNumbers(t *testing.T) {
	for _, text := range []string{"2-1 240 V", "L2-1 240 V", "1-L2 240 V", "B-1 240", "L2-P1 240"} {
		got, err := testOn(t, "120/240").ParseReading(text)
		require.NoError(t, err, text)
		require.Equal(t, cross(2, 1), got.Pair, text)
	}
	got, err := testOn(t, "120/240").ParseReading("L1-L2 240")
	require.NoError(t, err)
	require.Equal(t, Pair{Point{Leg, 1}, Point{Leg, 2}}, got.Pair)
}

func TestReadingsThatAreRefused(t *testing.T) {
	for _, c := range []struct{ service, text, want string }{
		{"120/208Y", "", `"" is not a reading; write it such as "A-1 0.3 V"`},
		{"120/208Y", "A-1", "is not a reading"},
		{"120/208Y", "A-1 ", "is not a reading"},
		{"120/208Y", "A1 0.3 V", "is not a reading"},
		{"120/208Y", "A-10.3 V", "is not a reading"},
		{"120/208Y", "A-1 V", "is not a value in V"},
		{"120/208Y", "A-1 -208 V", "-208 V is below zero"},
		{"120/208Y", "A-1 1200 V", "1200 V is above 1000 V"},
		{"120/208Y", "A-1 208 kV", "208000 V is above 1000 V"},
		{"120/208Y", "A-1 1,208 V", "comma may group digits"},
		{"120/208Y", "A-1 12 A", "is in A, where V is wanted"},
		{"120/208Y", "A-1 208 V DC", "where V is wanted"},
		{"120/208Y", "A-1 NaN", "is not a value in V"},
		{"120/208Y", "A-1 1e9 V", "not a number"},
		{"120/208Y", "A-1 OL", "at OL, a higher range"},
		{"120/208Y", "A-1 closed", "closed is continuity"},
		{"120/208Y", "A-4 0 V", "120/208Y has no 4; there are legs A to C, poles 1 to 3, and N"},
		{"120/208Y", "D-1 0 V", `"D" is no point of this test`},
		{"120/208Y", "A-A 0 V", "both ends are the same point"},
		{"120/208Y", "N-N 0 V", "both ends are the same point"},
		{"120/208Y", "1-2 0 V", "which of the two is a leg? name legs by letter, such as A-2, or two poles as P1-P2"},
		{"120/208N", "C-1 208 V", "120/208N has no C; there are legs A to B, poles 1 to 2, and N"},
		{"120/240", "1-3 0 V", "120/240 has no 3; there are legs L1 to L2"},
		{"120", "L2-1 0 V", "120 has no L2; there are leg L1, pole 1, and N"},
		{"240D", "1-N 139 V", "240D has no N; there are legs A to C, poles 1 to 3"},
	} {
		_, err := testOn(t, c.service).ParseReading(c.text)
		require.ErrorContains(t, err, c.want, "%s: %q", c.service, c.text)
	}
	dead := testOn(t, "120/208Y")
	dead.Dead = true
	_, err := dead.ParseReading("A-1 0.3 V")
	require.ErrorContains(t, err, "0.3 V is not closed or open; a dead test reads closed, beep or 0.2 ohm")
	r, err := dead.ParseReading("A-1: Closed")
	require.NoError(t, err)
	require.True(t, r.Closed)
}

func TestHighLegs(t *testing.T) {
	leg, err := ParseHighLeg(testOn(t, "120/240D").Service, "c")
	require.NoError(t, err)
	require.Equal(t, wiring.Leg(3), leg)
	_, err = ParseHighLeg(testOn(t, "120/240D").Service, "AB")
	require.ErrorContains(t, err, `"AB" is not a leg; say A, B or C`)
	_, err = ParseHighLeg(testOn(t, "120/240D").Service, "")
	require.Error(t, err)
	_, err = ParseHighLeg(testOn(t, "240D").Service, "B")
	require.ErrorContains(t, err, "only 120/240D has one")
}

func FuzzParseReading(f *testing.F) {
	for _, text := range []string{"A-1 0.3 V", "1-N 120", "L1–L2: 240 V", "P1-P2 = 0,208 kV", "A-1 closed", "A-1 -0 V",
		"A-1 1e400"} {
		f.Add(text)
	}
	all := wiring.Services()
	f.Fuzz(func(t *testing.T, text string) {
		for n := range 2 * len(all) {
			test := Test{Service: all[n/2], Dead: n%2 == 1, Proved: true}
			r, err := test.ParseReading(text)
			if err != nil {
				continue
			}
			require.True(t, r.Volts >= 0 && r.Volts <= mostVolts, "law 1: a size that low voltage has")
			require.NotEqual(t, r.Pair.From, r.Pair.To, "law 2: two points")
			back, err := test.ParseReading(test.Write(r))
			require.NoError(t, err, "law 3: what is written is read")
			require.Equal(t, r.Pair, back.Pair)
			require.Equal(t, r.Closed, back.Closed)
			require.InDelta(t, r.Volts, back.Volts, 0.0006)
			require.NotPanics(t, func() { test.Judge([]Reading{r, r, back}) }, "law 4: it can be judged")
		}
	})
}

func FuzzParseSheet(f *testing.F) {
	for _, s := range wiring.Services() {
		f.Add(Test{Service: s}.Sheet())
		f.Add(Test{Service: s, Dead: true}.Sheet())
	}
	f.Add([]byte("legwork-phasetest: 1\nservice: 120\nreadings: {1-N: [120 V, 121], L1-1: 0.2}\n"))
	f.Fuzz(func(t *testing.T, src []byte) {
		test, readings, err := ParseSheet("s.yaml", src)
		if err == nil {
			require.NotEmpty(t, test.Service.Name, "law 1: what is accepted names a service")
			test.Judge(readings) // law 2: and can be judged
		}
	})
}
