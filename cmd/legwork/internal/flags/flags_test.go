package flags

import (
	"errors"
	"io"
	"strings"
	"testing"
	"time"

	"github.com/spf13/pflag"
	"github.com/stretchr/testify/require"
)

// kiln is what the flags of an invented command hold.
type kiln struct {
	heat   string
	steps  int
	hold   time.Duration
	share  float64
	cone   List[string]
	label  string
	lining string
}

func cone(text string) (string, error) {
	if !strings.HasPrefix(text, "cone ") {
		return "", Refused{What: `"` + text + `" is no cone`, Mend: "write it such as cone 6"}
	}
	return strings.TrimPrefix(text, "cone "), nil
}

func flagsOf(k *kiln) *pflag.FlagSet {
	f := pflag.NewFlagSet("kiln", pflag.ContinueOnError)
	f.SetOutput(io.Discard)
	f.Var(Word(&k.heat, "gas", "wood", "electric"), "heat", "")
	f.Var(Int(&k.steps, 3, FromZero), "steps", "")
	f.Var(Duration(&k.hold, time.Minute, FromZero), "hold", "")
	f.Var(Float(&k.share, 0, func(x float64) error { return Unless(x > 1, "%g is more than all", x) }), "share", "")
	f.Var(Each(&k.cone, cone), "cone", "")
	f.Var(Text(&k.label, "", cone), "label", "")
	plain := func(string) (string, error) { return "", Refused{What: "brick is dear", Apart: true} }
	f.Var(Text(&k.lining, "", plain), "lining", "")
	return f
}

func TestWhatIsGivenIsRead(t *testing.T) {
	var k kiln
	f := flagsOf(&k)
	require.Equal(t, kiln{heat: "gas", steps: 3, hold: time.Minute}, k, "as they begin")
	require.NoError(t, f.Parse([]string{"--heat", "wood", "--steps", "0", "--hold", "90s", "--share", "0.5",
		"--cone", "cone 6", "--cone", "cone 04", "--label", "cone 1"}))
	require.Equal(t, kiln{"wood", 0, 90 * time.Second, 0.5,
		List[string]{[]string{"6", "04"}, []string{"cone 6", "cone 04"}}, "1", ""}, k)
	for name, text := range map[string]string{"steps": "0", "hold": "1m30s", "share": "0.5", "label": "cone 1"} {
		require.Equal(t, text, f.Lookup(name).Value.String())
	}
	list, ok := f.Lookup("cone").Value.(pflag.SliceValue)
	require.True(t, ok)
	require.Equal(t, []string{"cone 6", "cone 04"}, list.GetSlice())
	require.NoError(t, f.Parse([]string{"--label", ""}))
	require.Empty(t, k.label, "an empty text takes it back")
}

// What is wrong is refused in one line that names the flag, and changes nothing.
func TestWhatIsWrongIsRefused(t *testing.T) {
	for arg, want := range map[string]string{
		"--heat=coal":  `--heat "coal" is not gas, wood or electric`,
		"--heat=":      `--heat "" is not gas, wood or electric`,
		"--steps=-1":   "--steps -1 is below zero",
		"--steps=few":  `--steps "few" is not a whole number`,
		"--hold=-1s":   "--hold -1s is below zero",
		"--hold=long":  `--hold "long" is not a time`,
		"--share=2":    "--share 2 is more than all",
		"--share=half": `--share "half" is not a number`,
		"--cone=6":     `--cone "6" is no cone; write it such as cone 6`,
		"--label=6":    `--label "6" is no cone; write it such as cone 6`,
		"--lining=x":   "--lining: brick is dear",
	} {
		var k kiln
		f := flagsOf(&k)
		before := k
		err, ours := Explain(f.Parse([]string{arg}))
		require.True(t, ours, arg)
		require.EqualError(t, err, want)
		require.Equal(t, before, k, arg)
	}
	other := errors.New("of someone else")
	err, ours := Explain(other)
	require.False(t, ours)
	require.Equal(t, other, err)
}
