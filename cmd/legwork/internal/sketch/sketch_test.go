package sketch

import (
	"encoding/xml"
	"flag"
	"fmt"
	"io"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"legwork/diagnose"
	"legwork/diagnose/wiring"
	"legwork/probe/reading"
)

var update = flag.Bool("update", false, "write the golden files anew")

// cast are the wirings that are drawn.
func cast(t *testing.T) map[string]Wiring {
	of := func(service string, change func(*Wiring)) Wiring {
		s, err := wiring.ParseService(service)
		require.NoError(t, err)
		w := Wiring{Service: s}.Right()
		change(&w)
		return w
	}
	on := func(legs ...wiring.Leg) func(*Wiring) {
		return func(w *Wiring) {
			for k, leg := range legs {
				w.CT[k].Leg = leg
			}
		}
	}
	return map[string]Wiring{
		"right":            of("120/208Y", func(*Wiring) {}),
		"crossed":          of("120/208Y", on(2, 1, 3)),
		"crossed-reversed": of("120/208Y", func(w *Wiring) { on(3, 2, 1)(w); w.CT[0].Reversed = true }),
		"rolled":           of("120/208Y", on(2, 3, 1)),
		"two-on-a-leg":     of("120/208Y", on(1, 1, 3)),
		"on-neutral":       of("120/208Y", func(w *Wiring) { on(1, wiring.OnNeutral, 3)(w); w.CT[1].Reversed = true }),
		"not-judged":       of("120/208Y", on(1, 0, 3)),
		"dead-and-low":     of("120/208Y", func(w *Wiring) { w.Input[1], w.Input[2] = wiring.InputDead, wiring.InputLow }),
		"shared":           of("120/208Y", func(w *Wiring) { w.Input[2], w.Shares[2] = wiring.InputShared, 1 }),
		"shared-somewhere": of("120/208Y", func(w *Wiring) { w.Input[2] = wiring.InputShared }),
		"neutral-crossed":  of("120/208Y", func(w *Wiring) { w.Input[1] = wiring.InputNeutralCrossed }),
		"neutral-lost": of("120/208Y", func(w *Wiring) {
			on(2, 1, 3)(w)
			w.CT[0].Reversed, w.Input[0], w.Keep = true, wiring.InputHigh, true
		}),
		"two-legs":  of("120/240", func(w *Wiring) { on(2, 1)(w); w.CT[1].Reversed = true }),
		"one-leg":   of("230", func(w *Wiring) { w.CT[0].Reversed = true }),
		"delta":     of("480D", on(3, 1)),
		"delta-mid": of("480D", on(1, 2)),
		"high-leg":  of("120/240D", on(1, 3, 2)),
	}
}

func pair(w Wiring) []Titled {
	return []Titled{{"As it is", Of(w)}, {"As it should be", Of(w.Right())}}
}

func TestText(t *testing.T) {
	for name, w := range cast(t) {
		t.Run(name, func(t *testing.T) {
			var b strings.Builder
			for _, form := range []struct {
				wide  int
				plain bool
			}{{80, false}, {80, true}, {29, false}} {
				for _, line := range Text(pair(w), form.wide, form.plain) {
					require.LessOrEqual(t, len([]rune(line)), form.wide)
					if form.plain {
						require.Equal(t, len(line), len([]rune(line)), line)
					}
					fmt.Fprintln(&b, line)
				}
				fmt.Fprintln(&b)
			}
			fmt.Fprintln(&b, strings.Join(Words(Of(w)), "\n"))
			file := "testdata/" + name + ".txt"
			if *update {
				require.NoError(t, os.MkdirAll("testdata", 0o755))
				require.NoError(t, os.WriteFile(file, []byte(b.String()), 0o644))
			}
			want, err := os.ReadFile(file)
			require.NoError(t, err)
			require.Equal(t, string(want), b.String())
		})
	}
}

// A window that is too narrow for any drawing has none.
func TestTextTooNarrow(t *testing.T) {
	require.Empty(t, Text(pair(cast(t)["right"]), 20, false))
}

// Every drawing is well-formed, says in words what it shows, and has every input's name and every mark's word in it.
func TestSVG(t *testing.T) {
	for name, w := range cast(t) {
		p := Of(w)
		svg := string(SVG(Titled{"As <found>", p}, "x"))
		texts := textsOf(t, svg)
		require.Contains(t, texts, "Where the leads and CTs are, as <found>", name)
		require.Contains(t, texts, strings.Join(Words(p), " "), name)
		for _, one := range p.Taps {
			require.Contains(t, texts, one.Name, name)
		}
		for _, one := range p.Marks {
			require.Contains(t, texts, one.Word, name)
		}
		require.Equal(t, len(p.CTs)-strings.Count(name, "not-judged"), strings.Count(svg, `class="arrow"`), name)
	}
}

func textsOf(t *testing.T, svg string) []string {
	var all []string
	d := xml.NewDecoder(strings.NewReader(svg))
	for {
		token, err := d.Token()
		if err == io.EOF {
			return all
		}
		require.NoError(t, err)
		if text, is := token.(xml.CharData); is {
			all = append(all, string(text))
		}
	}
}

// What an explanation says of a conductor is where it is drawn.
func TestOfResult(t *testing.T) {
	leg, reversed := 1, true
	r := &diagnose.Result{Service: diagnose.ServiceJudged{Name: "120/208Y"}, Channels: []diagnose.ChannelJudged{
		{VoltageAngle: reading.Known(reading.Angle(0))}, {VoltageAngle: reading.Known(reading.Angle(-120))},
		{VoltageAngle: reading.Known(reading.Angle(-119))}}}
	x := &diagnose.Explanation{Cause: diagnose.CauseWiring,
		CT: []diagnose.CTPlaced{{Channel: 1, Leg: &leg, Reversed: &reversed}, {Channel: 2, On: "neutral"}, {Channel: 3}},
		Voltage: []diagnose.InputJudged{{Channel: 1, State: wiring.InputLow}, {Channel: 2, State: wiring.InputHigh, Severe: true},
			{Channel: 3, State: wiring.InputShared}}}
	r.Explanations = []diagnose.Explanation{*x}
	w, ok := OfResult(r)
	require.True(t, ok)
	require.Equal(t, wiring.Arrangement{{Leg: 1, Reversed: true}, {Leg: wiring.OnNeutral}, {}}, w.CT)
	require.Equal(t, [3]wiring.InputState{wiring.InputLive, wiring.InputHigh, wiring.InputShared}, w.Input, "a little low is live")
	require.EqualValues(t, 2, w.Shares[2], "input 3 has the angle of input 2")

	r.Explanations[0].Cause = diagnose.CauseMap
	_, ok = OfResult(r)
	require.False(t, ok, "a map that misreads the meter places nothing")
}

// Only a fault with a move that is made dead has a drawing of how it should be, and words that say what to do.
func TestPicturesThatAskForNothing(t *testing.T) {
	one, two, no := 1, 2, false
	crossed := diagnose.Explanation{Probability: 0.85, CT: []diagnose.CTPlaced{{Channel: 1, Leg: &two, Reversed: &no}, {Channel: 2, Leg: &one, Reversed: &no}}}
	for name, c := range map[string]struct {
		verdict diagnose.Verdict
		moves   []diagnose.Move
		want    []string
	}{
		"a fault":         {diagnose.Fault, []diagnose.Move{{}}, []string{"As it is exchange", "As it should be"}},
		"keep away":       {diagnose.Fault, []diagnose.Move{{LiveWork: true}}, []string{"As it is crossed"}},
		"open":            {diagnose.Undecided, []diagnose.Move{{}}, []string{"Likeliest, 85 % crossed"}},
		"a move may harm": {diagnose.Undecided, nil, []string{"Likeliest, 85 % crossed"}},
	} {
		crossed.Moves = c.moves
		var got []string
		for _, one := range Pictures(&diagnose.Result{Verdict: c.verdict, Service: diagnose.ServiceJudged{Name: "120/240"},
			Explanations: []diagnose.Explanation{crossed}}) {
			for _, m := range one.Marks {
				one.Title += " " + m.Word
			}
			got = append(got, one.Title)
		}
		require.Equal(t, c.want, got, name)
	}
	require.Empty(t, Pictures(&diagnose.Result{}))
}
