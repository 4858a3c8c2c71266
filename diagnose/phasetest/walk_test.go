package phasetest

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"legwork/diagnose/wiring"
)

// Whatever the wiring, answers that are right and a tester that was proved settle a
// walk: no pole is left open, on any service, live or dead.
func TestAWalkEndsSettled(t *testing.T) {
	if testing.Short() {
		t.Skip("long, and of one goroutine")
	}
	for _, s := range wiring.Services() {
		for _, dead := range []bool{false, true} {
			test := Test{Service: s, Dead: dead, Proved: true}
			for _, m := range test.mappings() {
				w := test.worlds()[0]
				walk := Walk{Test: test}
				for q, ok := walk.Next(); ok; q, ok = walk.Next() {
					walk.Take(test.predicts(q.Pair, m.ends(q.Pair), &w))
					require.Less(t, len(walk.Readings), 40, "%s, dead %v, %s", s.Name, dead, test.said(m))
				}
				r := test.Judge(walk.Readings)
				require.NotEqual(t, wiring.Undecided, r.Verdict, "%s, dead %v, %s", s.Name, dead, test.said(m))
			}
		}
	}
}

// One slip is found and read again, and settles as if it had not been.
func TestAWalkMendsASlip(t *testing.T) {
	test := Test{Service: testOn(t, "120/208Y").Service, Proved: true}
	w := test.worlds()[0]
	for slip := range test.Plan() {
		walk := Walk{Test: test}
		for q, ok := walk.Next(); ok; q, ok = walk.Next() {
			r := test.predicts(q.Pair, home(3).ends(q.Pair), &w)
			if len(walk.Readings) == slip {
				r.Volts = 208 - r.Volts
			}
			walk.Take(r)
			require.Less(t, len(walk.Readings), 40)
		}
		at := PairName(test.Service, test.Plan()[slip])
		require.Equal(t, wiring.Agrees, test.Judge(walk.Readings).Verdict, "slip at %s", at)
	}
}

func TestWhatAReadingMayBe(t *testing.T) {
	walk := Walk{Test: testOn(t, "120/208Y")}
	walk.Leave(tap(1))
	q, ok := walk.Next()
	require.True(t, ok)
	require.Equal(t, Question{cross(1, 1), "A-1", "main leg A to pole 1", "0 to 6 V or 187 to 229 V", false, 2, 12}, q)
	again, odd := walk.Take(Reading{Pair: cross(1, 1), Volts: 300})
	require.True(t, odd)
	require.Equal(t, "A-1", again.Name)
	require.True(t, again.Again)
}

// What was put off is asked for once more, behind the others; then it is left out.
func TestWhatIsPutOff(t *testing.T) {
	walk := Walk{Test: testOn(t, "120/240")}
	var names []string
	for q, ok := walk.Next(); ok; q, ok = walk.Next() {
		names = append(names, q.Name)
		walk.Leave(q.Pair)
	}
	require.Equal(t, "1-N L1-1 L2-1 2-N L1-2 L2-2 1-N L1-1 L2-1 2-N L1-2 L2-2", strings.Join(names, " "))
}

// What a person wrote stays, and a reading goes behind those of its pair.
func TestFillingInAWorksheet(t *testing.T) {
	test := testOn(t, "120/240")
	src := []byte("# by hand\nlegwork-phasetest: 1\nservice: 120/240\nreadings: # today\n" +
		"  1-N: 120 V   # cold\n  \"L1-1\":  [0.1 V, 0.2 V]\n  L2-1:\n  L1-2:\n    - 240 V\n")
	for _, c := range []struct{ text, want string }{
		{"1-N 121 V", "  1-N: [120 V, 121 V]   # cold\n"},
		{"L1-1 0.3 V", "  \"L1-1\": [0.1 V, 0.2 V, 0.3 V]\n"},
		{"L2-1 240 V", "  L2-1: 240 V\n"},
		{"L2-2 0 V", "  L2-2: 0 V\n"},
	} {
		r, err := test.ParseReading(c.text)
		require.NoError(t, err)
		out, err := test.Fill(src, r)
		if c.text == "L2-2 0 V" { // behind the last line that a pair has; here in the middle of a list
			require.ErrorContains(t, err, "L2-2 can't be filled in; write each pair and its values on one line")
			continue
		}
		require.NoError(t, err, c.text)
		require.Contains(t, string(out), c.want)
		require.Contains(t, string(out), "# by hand\n")
	}
	proved, err := FillProved(src, ProvedBefore)
	require.NoError(t, err)
	require.Contains(t, string(proved), "\nproved-before: true\nreadings: # today\n")
}

// Filled in line by line, a blank worksheet says what was taken.
func TestAWholeWalkOnPaper(t *testing.T) {
	test := Test{Service: testOn(t, "120/208Y").Service, Dead: true}
	src, taken := test.Sheet(), []Reading{}
	for n, p := range test.Plan() {
		for _, text := range [][]string{{"beep", "0.2 ohm"}, {"OL", "120 kohm"}}[n%2] {
			r, err := test.ParseReading(PairName(test.Service, p) + " " + text)
			require.NoError(t, err)
			taken = append(taken, r)
			src, err = test.Fill(src, r)
			require.NoError(t, err)
		}
	}
	src, err := FillProved(src, ProvedBefore)
	require.NoError(t, err)
	got, readings, err := ParseSheet("sheet.yaml", src)
	require.NoError(t, err)
	require.Equal(t, taken, readings)
	require.True(t, got.Before)
	require.False(t, got.Proved)
	require.Equal(t, strings.Count(string(test.Sheet()), "\n"), strings.Count(string(src), "\n"))
}

func TestContinuity(t *testing.T) {
	test := Test{Service: testOn(t, "120/208Y").Service, Dead: true}
	for text, closed := range map[string]bool{"closed": true, "Beep": true, "0.2 ohm": true, "0,2 Ω": true, "4.9ohms": true,
		"300 mohm": true, "open": false, "OL": false, "no beep": false, "2 Mohm": false, "15 kΩ": false} {
		r, err := test.ParseReading("A-1 " + text)
		require.NoError(t, err, text)
		require.Equal(t, closed, r.Closed, text)
	}
	for text, want := range map[string]string{
		"47 ohm": "47 ohm is neither closed (up to 5 ohm) nor open (from 10 kohm): a load",
		"0.2":    "is not closed or open", "-1 ohm": "below zero", "120 V": "volts are for a live one"} {
		_, err := test.ParseReading("A-1 " + text)
		require.ErrorContains(t, err, want)
	}
}
