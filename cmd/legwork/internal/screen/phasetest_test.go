package screen

import (
	"bytes"
	"os"
	"strings"
	"testing"

	"github.com/charmbracelet/x/ansi"
	"github.com/stretchr/testify/require"

	"legwork/diagnose/phasetest"
	"legwork/diagnose/wiring"
)

// The readings of an invented panel, the Tidewater kiln house.
const (
	kilnRight = "1-N 120,A-1 0.2,B-1 208,C-1 207,2-N 121,A-2 208,B-2 0.3,C-2 209,3-N 119,A-3 207,B-3 208,C-3 0.1"
	kilnDead  = "A-B open,A-C open,B-C open,A-1 closed,A-1 closed,B-1 open,C-1 open,A-2 open,B-2 open,C-2 closed,C-2 " +
		"closed,A-3 open,B-3 closed,B-3 closed,C-3 open"
)

func TestPhaseTestScreens(t *testing.T) {
	for name, c := range map[string]struct {
		service  string
		test     phasetest.Test
		readings string
		s        Style
	}{
		"paper-live":       {"120/240D", phasetest.Test{}, "", Style{}},
		"paper-dead-ascii": {"120/240", phasetest.Test{Dead: true}, "", Style{ASCII: true}},
		"phase-right":      {"120/208Y", phasetest.Test{Proved: true, Colours: wiring.ColoursUSLow}, kilnRight, Style{}},
		"phase-exchanged": {"120/208Y", phasetest.Test{Proved: true, Dead: true, On: phasetest.OnBranch,
			Colours: wiring.ColoursCanada}, kilnDead, Style{}},
		"phase-contradicts": {"120/208Y", phasetest.Test{Proved: true}, strings.Replace(kilnRight, "B-1 208", "B-1 0.4", 1),
			Style{}},
		"phase-narrow": {"120/208Y", phasetest.Test{}, strings.Replace(kilnRight, ",C-3 0.1", "", 1),
			Style{Width: 60, ASCII: true}},
	} {
		t.Run(name, func(t *testing.T) {
			var err error
			c.test.Service, err = wiring.ParseService(c.service)
			require.NoError(t, err)
			var b bytes.Buffer
			if c.readings == "" {
				require.NoError(t, PhasePaper(&b, c.test.Paper(), c.s))
			} else {
				require.NoError(t, PhaseTest(&b, c.test.Judge(read(t, c.test, c.readings)), c.s))
			}
			golden(t, name, b.Bytes())
			for _, line := range strings.Split(b.String(), "\n") {
				require.LessOrEqual(t, ansi.StringWidth(line), 80, line)
				if c.s.ASCII {
					require.Equal(t, len(line), len([]rune(line)), "%q has more than ASCII", line)
				}
			}
		})
	}
	require.ErrorIs(t, PhaseTest(broken{}, phasetest.Result{}, Style{}), os.ErrClosed)
	require.ErrorIs(t, PhasePaper(broken{}, phasetest.Paper{}, Style{}), os.ErrClosed)
}

func read(t *testing.T, test phasetest.Test, list string) []phasetest.Reading {
	var all []phasetest.Reading
	for _, text := range strings.Split(list, ",") {
		r, err := test.ParseReading(text)
		require.NoError(t, err)
		all = append(all, r)
	}
	return all
}

// Cautions stand before the first step that touches a conductor.
func TestCautionsComeFirst(t *testing.T) {
	s, err := wiring.ParseService("120/208Y")
	require.NoError(t, err)
	test := phasetest.Test{Service: s, Proved: true}
	for _, readings := range []string{kilnRight, strings.Replace(kilnRight, "B-1 208", "B-1 0.4", 1), "A-1 0"} {
		var b bytes.Buffer
		require.NoError(t, PhaseTest(&b, test.Judge(read(t, test, readings)), Style{}))
		caution := strings.Index(b.String(), "Only qualified people")
		require.Positive(t, caution)
		for _, step := range []string{"What to move", "Where the CTs go", "The reading that"} {
			if at := strings.Index(b.String(), step); at >= 0 {
				require.Less(t, caution, at, step)
			}
		}
	}
}
