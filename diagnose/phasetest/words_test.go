package phasetest

import (
	"encoding/json"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"legwork/diagnose"
	"legwork/diagnose/wiring"
)

func readAll(t testing.TB, test Test, texts ...string) []Reading {
	var all []Reading
	for _, text := range texts {
		r, err := test.ParseReading(text)
		require.NoError(t, err)
		all = append(all, r)
	}
	return all
}

// The values that the trade looks for: 0 V on the same leg, about 208 V on
// another of 120/208, about 240 V on 120/240 (common practice, no source); 208 V
// of the high leg to neutral and 240 V between legs of a four-wire delta
// (common practice, no source); sqrt(3) times nominal on a wye.
func TestWhatTheWorksheetExpects(t *testing.T) {
	for name, want := range map[string]struct {
		line    float64
		nominal []float64
	}{
		"120/208Y": {208, []float64{120}}, "277/480Y": {480, []float64{277}}, "347/600Y": {601, []float64{347}},
		"230/400Y": {398, []float64{230}},
		"120/240":  {240, []float64{120}}, "120/208N": {208, []float64{120}}, "120/240D": {240, []float64{120, 208}},
		"240D": {240, nil}, "480D": {480, nil}, "600D": {600, nil},
	} {
		lines, taps := 0, 0
		for _, e := range testOn(t, name).Expected() {
			if e.Leg == nil {
				taps++
				require.Len(t, e.Nominal, len(want.nominal), name)
				for n, v := range want.nominal {
					require.InDelta(t, v, e.Nominal[n].about(), 0.6, name)
				}
				continue
			}
			lines++
			require.Zero(t, e.Same.Low)
			require.Less(t, e.Same.High, 0.06*want.line)
			require.InDelta(t, want.line, e.Another.about(), 0.6, name)
			require.InDelta(t, 0.9*want.line, e.Another.Low, 0.6, name)
		}
		legs := testOn(t, name).Service.Legs()
		require.Equal(t, legs*legs, lines, name)
		require.Equal(t, want.nominal != nil, taps == legs, name)
	}
}

func TestMovesAndSentences(t *testing.T) {
	for name, c := range map[string]struct {
		service  string
		on       []int
		moves    []string // what each move has in it
		seen     []string
		ctsTells bool
	}{
		"right": {"120/208Y", []int{1, 2, 3}, nil,
			[]string{"input 1 to input 2: line", "input 1 to input 3: line", "input 2 to input 3: line"}, true},
		"two exchanged": {"120/208Y", []int{1, 3, 2},
			[]string{"Open the reference breaker", "Exchange the leads at voltage inputs 2 and 3", "test again",
				"CT 1 on leg A, CT 2 on leg C and CT 3 on leg B"},
			[]string{"input 1 to input 2: line", "input 1 to input 3: line", "input 2 to input 3: line"}, true},
		"rolled": {"230/400Y", []int{2, 3, 1}, []string{"Open the reference breaker",
			"lead of pole 1 from voltage input 1 to voltage input 2 (leg B)",
			"lead of pole 2 from voltage input 2 to voltage input 3 (leg C)",
			"lead of pole 3 from voltage input 3 to voltage input 1 (leg A)", "test again", "Or, instead"},
			[]string{"input 1 to input 2: line", "input 1 to input 3: line", "input 2 to input 3: line"}, true},
		"shared": {"120/240", []int{2, 2}, []string{"Open the reference breaker",
			"Pole 1 is on leg L2, which another pole has: with the supply locked out and proved dead, feed it from leg L1",
			"test again"}, []string{"input 1 to input 2: 0 V"}, false},
		"shared and moved": {"120/208Y", []int{1, 1, 2},
			[]string{"Open the reference breaker", "Pole 2 is on leg A, which another pole has: with the supply locked out " +
				"and proved dead, feed it from leg C, and bring its lead to voltage input 3",
				"Pole 3 is on leg B: bring its lead to voltage input 2", "test again"},
			[]string{"input 1 to input 2: 0 V", "input 1 to input 3: line", "input 2 to input 3: line"}, false},
		"dead": {"277/480Y", []int{1, 0, 3}, []string{"Open the reference breaker", "Pole 2 is on no leg", "test again"},
			[]string{"input 1 to input 3: line"}, false},
		"elsewhere": {"120/208N", []int{1, -1}, []string{"Open the reference breaker",
			"Pole 2 is on a leg that isn't among these: with the supply", "test again"}, []string{"input 1 to input 2: line"},
			false},
		"delta": {"480D", []int{2, 1, 3}, []string{"Open the reference breaker",
			"Exchange the leads at voltage inputs 1 and 2", "test again"}, []string{}, true},
	} {
		t.Run(name, func(t *testing.T) {
			s, err := wiring.ParseService(c.service)
			require.NoError(t, err)
			b := benchOf(s, c.on...)
			plan := b.plan()
			r := b.t.Judge(append(plan, plan...))
			require.NotEqual(t, wiring.Undecided, r.Verdict, r.Summary)
			require.Len(t, r.Moves, len(c.moves), "%q", r.Moves)
			for n, want := range c.moves {
				require.Contains(t, r.Moves[n], want)
			}
			require.Equal(t, c.seen, r.Findings)
			for _, sentence := range r.Findings {
				_, err := diagnose.ParseFinding(sentence)
				require.NoError(t, err)
			}
			require.Equal(t, c.ctsTells, len(r.CTs) > 0)
		})
	}
}

// A record holds the result: it survives JSON, and nothing is null by accident.
func TestResultsSurviveJSON(t *testing.T) {
	for _, b := range benches() {
		for _, readings := range [][]Reading{nil, b.plan(), b.plan()[1:]} {
			r := b.t.Judge(readings)
			src, err := json.Marshal(r)
			require.NoError(t, err)
			require.True(t, strings.HasPrefix(string(src), `{"legwork":1,`))
			for _, list := range []string{"poles", "readings", "explanations", "missing", "moves", "cts", "seen", "cautions",
				"notes", "outcomes", "leaves", "possible", "wrong"} {
				require.NotContains(t, string(src), `"`+list+`":null`)
			}
			var back Result
			require.NoError(t, json.Unmarshal(src, &back))
			require.Equal(t, r, back)
		}
	}
}

func TestColoursOfLegs(t *testing.T) {
	// The colours' sources stand at wiring.ColourCode.
	for _, c := range []struct {
		service string
		high    wiring.Leg
		colours wiring.ColourCode
		want    string
	}{
		{"120/208Y", 0, wiring.ColoursCanada, "red black blue"}, {"120/240", 0, wiring.ColoursCanada, "black red"},
		{"120/240D", 1, wiring.ColoursCanada, "red black blue"}, {"120/240D", 2, wiring.ColoursCanada, "- - -"},
		{"120/208Y", 0, wiring.ColoursUSLow, "black red blue"}, {"120/240D", 2, wiring.ColoursUSLow, "black orange blue"},
		{"120/240D", 0, wiring.ColoursUSLow, "- - -"},
		{"277/480Y", 0, wiring.ColoursUSHigh, "brown orange or violet yellow"},
		{"480D", 0, wiring.ColoursUSHigh, "brown yellow"},
		{"230/400Y", 0, wiring.ColoursIEC, "brown black grey"}, {"230", 0, wiring.ColoursIEC, "brown"},
		{"120", 0, wiring.ColoursCanada, "-"}, {"120/208Y", 0, "", "- - -"},
		{"240D", 0, wiring.ColoursCanada, "red blue"}, {"120/208N", 0, wiring.ColoursUSLow, "black red"},
		{"120/240D", 3, wiring.ColoursUSHigh, "- - orange"},
	} {
		test := testOn(t, c.service)
		test.Colours = c.colours
		var got []string
		for _, p := range test.places(c.high) {
			if p.Colour == nil {
				got = append(got, "-")
			} else {
				got = append(got, *p.Colour)
			}
		}
		require.Equal(t, c.want, strings.Join(got, " "), "%s %s", c.service, c.colours)
	}
	_, err := wiring.ParseColourCode("mauve")
	require.ErrorContains(t, err, `"mauve" is not one of canada, us-low, us-high, iec`)
	_, err = ParseMounting("roof")
	require.ErrorContains(t, err, `"roof" is not mains or branch`)
}

// What no mapping of the service explains is told with the service that would.
func TestAReadingOfAnotherService(t *testing.T) {
	test := testOn(t, "120/240")
	r := test.Judge(readAll(t, test, "1-N 120", "L1-1 0.1", "L2-1 208", "2-N 120", "L1-2 208", "L2-2 0.2"))
	require.Equal(t, wiring.Undecided, r.Verdict)
	require.True(t, r.Contradicting)
	require.Equal(t, Unexplained, r.Readings[2].Use)
	require.Contains(t, r.Readings[2].Why, "208 V is nothing that 120/240 gives there; 120/208Y, 120/208N would")
}

// Readings that contradict each other are named, with what would be true then.
func TestContradictionsAreNamed(t *testing.T) {
	test := testOn(t, "240D")
	r := test.Judge(readAll(t, test, "A-1 0.1", "B-1 0.2", "C-1 240", "A-2 240", "B-2 0.2", "C-2 240", "A-3 240",
		"B-3 240", "C-3 0"))
	require.Equal(t, wiring.Undecided, r.Verdict)
	require.Equal(t, "The readings contradict each other: one of them has to be wrong.", r.Summary)
	require.Equal(t, []Explanation{
		{"pole 1 on leg A, pole 2 on leg B, pole 3 on leg C", []string{"A", "B", "C"}, []string{"B-1 0.2 V"}},
		{"pole 1 on leg B, pole 2 on leg B, pole 3 on leg C", []string{"B", "B", "C"}, []string{"A-1 0.1 V"}},
		{"pole 1 on no leg, pole 2 on leg B, pole 3 on leg C", []string{"no leg", "B", "C"}, []string{"C-1 240 V"}},
	}, r.Explanations)
	require.Equal(t, InDoubt, r.Readings[0].Use)
	require.Equal(t, InDoubt, r.Readings[2].Use)
	require.Equal(t, Fits, r.Readings[3].Use)
	require.True(t, r.Next.Again)
	require.Nil(t, r.Poles[0].On)
	require.Equal(t, "B", *r.Poles[1].On)

	mended := test.Judge(append(readAll(t, test, "A-1 0.1", "B-1 0.2", "C-1 240", "A-2 240", "B-2 0.2", "C-2 240",
		"A-3 240", "B-3 240", "C-3 0"),
		readAll(t, test, "B-1 239")...))
	require.Equal(t, wiring.Agrees, mended.Verdict)
	require.Equal(t, SetAside, mended.Readings[1].Use)
}

// A dead tap is never called live.
func TestADeadTapIsNotLive(t *testing.T) {
	test := testOn(t, "120/208Y")
	r := test.Judge(readAll(t, test, "1-N 0", "A-1 0", "B-1 0", "C-1 0", "2-N 120"))
	require.Equal(t, "no leg", *r.Poles[0].On)
	require.False(t, *r.Poles[0].Live)
	require.True(t, *r.Poles[1].Live)
	require.Nil(t, r.Poles[2].Live)
}

// Colours that a person wrote down go before a practice; a leg without one keeps
// the practice's.
func TestColoursThatWereWrittenDown(t *testing.T) {
	service, err := wiring.ParseService("120/208Y")
	require.NoError(t, err)
	places := Test{Service: service, Colours: wiring.ColoursCanada,
		Wires: [3]string{"", "violet", ""}}.places(wiring.NoLeg)
	require.Equal(t, []string{"red", "violet", "blue"}, []string{*places[0].Colour, *places[1].Colour, *places[2].Colour})
	places = Test{Service: service, Wires: [3]string{"", "violet", ""}}.places(wiring.NoLeg)
	require.Nil(t, places[0].Colour)
	require.Equal(t, "violet", *places[1].Colour)
}

// A first reading says what it points to, though one reading alone may be wrong.
func TestTheFirstReadingSaysWhatItPointsTo(t *testing.T) {
	test := testOn(t, "120/208Y")
	next := test.Judge(nil).Next
	require.Equal(t, "1-N", next.Pair)
	require.Equal(t, []Outcome{
		{Reads: "about 120 V", Likeliest: []string{"A", "B", "C"}, Leaves: []string{"A", "B", "C", "no leg"}},
		{Reads: "about 0 V", Likeliest: []string{"no leg"}, Leaves: []string{"A", "B", "C", "no leg"}},
	}, next.Outcomes)
}
