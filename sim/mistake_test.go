package sim

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestMistakesThatCantBe(t *testing.T) {
	for name, x := range map[string]struct{ service, list, says string }{
		"a letter too many":         {"120/208Y", "ct1-reversed,ct2-revversed", `"ct2-revversed" is no fault that can be simulated; did you mean ct2-reversed?`},
		"nothing like it":           {"120/208Y", "burnt toast", `"burnt toast" is no fault that can be simulated; there are ct1-reversed, `},
		"a channel that isn't":      {"120/240", "ct3-reversed", `fault "ct3-reversed": 120/240 has channels 1 and 2 on legs 1 and 2`},
		"an input that isn't":       {"230", "v2-dead", `fault "v2-dead": 230 has channel 1 alone on leg 1 alone`},
		"a roll of two":             {"120/240", "cts-rolled", `fault "cts-rolled": a roll needs three CTs, and 120/240 has channels 1 and 2`},
		"a roll in a delta":         {"480D", "cts-rolled-back", `fault "cts-rolled-back": a roll needs three CTs, and 480D has channels 1 and 2`},
		"no neutral to lose":        {"600D", "neutral-lost", `fault "neutral-lost": 600D has no neutral`},
		"no neutral to hang it on":  {"600D", "ct1-on-neutral", `fault "ct1-on-neutral": 600D has no neutral`},
		"its own leg":               {"120/208Y", "ct2-on-leg2", `fault "ct2-on-leg2": that is where it belongs`},
		"its own leg, delta":        {"480D", "ct2-on-leg3", `fault "ct2-on-leg3": that is where it belongs`},
		"a service that isn't":      {"120/280Y", "", `"120/280Y" is not a service; there are 120/208Y, `},
		"crossed with itself":       {"120/208Y", "ct1-ct1-crossed", `"ct1-ct1-crossed" is no fault that can be simulated; did you mean `},
		"words of the shell joined": {"120/208Y", "ct1-reversed ct2-open", `"ct1-reversed ct2-open" is no fault that can be simulated; `},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := ParseMistakes(x.service, x.list)
			require.Error(t, err)
			require.True(t, strings.HasPrefix(err.Error(), x.says), err.Error())
			require.NotContains(t, err.Error(), "\n")
		})
	}
}

func TestMistakesMoveConductors(t *testing.T) {
	for list, want := range map[string]func(*Wiring){
		"ct2-open":                         func(w *Wiring) { w.CTs[1].Open = true },
		"ct2-shorted":                      func(w *Wiring) { w.CTs[1].Shorted = true },
		"ct2-on-leg1":                      func(w *Wiring) { w.CTs[1].Round = LegA },
		"ct3-on-neutral":                   func(w *Wiring) { w.CTs[2].Round = Neutral },
		"ct3-ct1-crossed":                  func(w *Wiring) { w.CTs[0].Round, w.CTs[2].Round = LegC, LegA },
		"cts-rolled":                       func(w *Wiring) { w.CTs[0].Round, w.CTs[1].Round, w.CTs[2].Round = LegB, LegC, LegA },
		"cts-rolled-back":                  func(w *Wiring) { w.CTs[0].Round, w.CTs[1].Round, w.CTs[2].Round = LegC, LegA, LegB },
		"v3-dead":                          func(w *Wiring) { w.Inputs[2] = Nothing },
		"v2-loose":                         func(w *Wiring) { w.Loose[1] = true },
		"v2-low":                           func(w *Wiring) { w.BackFed[1] = 0.35 },
		"v2-on-leg1":                       func(w *Wiring) { w.Inputs[1] = LegA },
		"v1-v2-crossed":                    func(w *Wiring) { w.Inputs[0], w.Inputs[1] = LegB, LegA },
		"vn-v1-crossed":                    func(w *Wiring) { w.Inputs[0], w.Common = Neutral, LegA },
		"meter-neutral-lost":               func(w *Wiring) { w.Common = Nothing },
		"neutral-lost":                     func(w *Wiring) { w.NeutralLost = true },
		" ct1-reversed , , cts-reversed, ": func(w *Wiring) { w.CTs[1].Turned, w.CTs[2].Turned = true, true },
	} {
		u := supplyOf(t, "120/208Y", ABC)
		right := RightWiring(u)
		want(&right)
		require.Equal(t, right, *miswired(t, u, list), list)
	}
}

// A CT counts by the channel on which its leads are, so it doesn't matter
// whether it was turned before or after it was crossed.
func TestOrderDoesNotMatter(t *testing.T) {
	u := supplyOf(t, "120/208Y", ABC)
	require.Equal(t, miswired(t, u, "ct2-ct3-crossed,ct2-reversed"), miswired(t, u, "ct2-reversed,ct3-ct2-crossed"))
}

func TestEverySortIsListed(t *testing.T) {
	names, err := MistakeNames("120/208Y")
	require.NoError(t, err)
	require.Subset(t, names, Mistakes())
	digits := strings.NewReplacer("1", "N", "2", "N", "3", "N")
	sorts := map[string]bool{}
	for _, m := range Mistakes() {
		sorts[digits.Replace(m)] = true
	}
	for _, name := range names {
		require.True(t, sorts[digits.Replace(name)], name)
	}
}

func TestEveryMistakeOfEveryServiceCanBeMade(t *testing.T) {
	for _, service := range Services() {
		names, err := MistakeNames(service)
		require.NoError(t, err)
		for _, name := range names {
			p := loaded(t, service, ABC)
			right := RightWiring(p.Supply)
			w := miswired(t, p.Supply, name)
			require.NotEqual(t, right, *w, "%s %s", service, name)
			r := ideal(p, w)
			require.Len(t, r.Channels, p.Supply.Service.Channels())
			require.True(t, r.TotalPower.Known(), "%s %s", service, name)
		}
	}
}

// Which input a CT goes with is told by number, whatever the conductors are called.
func TestPairs(t *testing.T) {
	for _, x := range []struct {
		service, list string
		want          [3]int
	}{
		{"120/208Y", "", [3]int{1, 2, 3}},
		{"120/208Y", "cts-rolled", [3]int{2, 3, 1}},
		{"120/208Y", "v1-v2-crossed", [3]int{2, 1, 3}},
		{"120/208Y", "v1-v2-crossed,ct1-ct2-crossed", [3]int{1, 2, 3}},
		{"120/208Y", "v2-dead", [3]int{1, 2, 3}},
		{"120/208Y", "v2-on-leg1", [3]int{1, 2, 3}},
		{"120/208Y", "v3-on-leg1,ct1-ct3-crossed", [3]int{3, 2, 1}},
		{"120/208Y", "vn-v1-crossed", [3]int{1, 2, 3}},
		{"120/208Y", "v1-v2-crossed,v2-dead", [3]int{2, 1, 3}},
		{"120/208Y", "ct2-on-neutral", [3]int{1, 0, 3}},
		{"120/240", "ct1-ct2-crossed", [3]int{2, 1}},
		{"480D", "", [3]int{1, 3}},
		{"480D", "ct1-on-leg2", [3]int{2, 3}},
		{"480D", "v1-v2-crossed", [3]int{3, 1}},
		{"480D", "vn-v1-crossed", [3]int{2, 3}},
		{"480D", "vn-v1-crossed,v1-dead", [3]int{2, 3}},
	} {
		p := loaded(t, x.service, ABC)
		w := miswired(t, p.Supply, x.list)
		f := p.Flow(false)
		require.Equal(t, x.want, truthOf(p.Supply, w, &f).Pair, "%s %s", x.service, x.list)
	}
}

func FuzzParseMistakes(f *testing.F) {
	for _, seed := range []string{"", "ct1-reversed", "cts-rolled,v3-dead", "ct9-ct0-crossed", ",,", "ct1-on-leg\x00"} {
		f.Add(seed)
	}
	u := NewSupply(services[0], ABC)
	f.Fuzz(func(t *testing.T, list string) {
		mistakes, err := ParseMistakes(u.Service.Name, list)
		if err != nil {
			require.NotContains(t, err.Error(), "\n")
			return
		}
		w := RightWiring(u)
		for _, m := range mistakes {
			m.Apply(&w)
		}
	})
}
