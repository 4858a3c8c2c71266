package sheet

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// refused is the only line that is said of a file.
func refused(t *testing.T, src string) string {
	t.Helper()
	s, _ := Open("f.yaml", []byte(src))
	require.Error(t, s.Err())
	require.Equal(t, 0, strings.Count(s.Err().Error(), "\n"), s.Err())
	require.Less(t, len(s.Err().Error()), 500)
	return s.Err().Error()
}

// Each of these took seconds and gigabytes once. Refusing one takes no longer
// than reading it.
func TestWhatIsTooMuchIsRefusedBeforeItIsParsed(t *testing.T) {
	steps := strings.Builder{}
	for i := range 30 {
		steps.WriteString(strings.Repeat(" ", i) + "a:\n")
	}
	for name, c := range map[string]struct{ src, want string }{
		"lists in brackets":    {"a: " + strings.Repeat("[", 80_000), "f.yaml:1:1: lists or groups lie more than 20 deep"},
		"groups in braces":     {"a: " + strings.Repeat("{a: ", 30_000), "f.yaml:1:1: lists or groups lie more than 20 deep"},
		"lists by dashes":      {"a:\n  " + strings.Repeat("- ", 40_000), "f.yaml:2:1: lists or groups lie more than 20 deep"},
		"groups by steps":      {steps.String(), "f.yaml:21:1: lists or groups lie more than 20 deep"},
		"blank lines":          {"a: |\n" + strings.Repeat("\n", 200_000), "the file has 200001 lines; at most 10000 are read"},
		"more than a megabyte": {strings.Repeat("a", MostBytes+1), "the file has 1048577 bytes or more; at most 1048576"},
		"UTF-16":               {"\xff\xfea\x00", "this is UTF-16; save it as UTF-8"},
	} {
		require.Contains(t, refused(t, c.src), c.want, name)
	}
}

func TestWhatIsNotTooMuch(t *testing.T) {
	for _, src := range []string{"a: " + strings.Repeat("[", 19) + strings.Repeat("]", 19) + "\n",
		"a: foo [bar\nb: '[[[[[[[[[[[[[[[[[[[[[['\nc: |\n" + strings.Repeat("  [[[ - - -\n", 40),
		strings.Repeat("- 1\n", 10), "a:\n" + strings.Repeat("  - b: {c: 1}\n", 500)} {
		require.Zero(t, tooDeep([]byte(src)), src)
	}
}

func TestAByteOrderMark(t *testing.T) {
	s, root := Open("f.yaml", []byte("\xEF\xBB\xBFn: 7\n"))
	x, ok := root.Fields("n")["n"].Int(0, 10)
	require.NoError(t, s.Err())
	require.True(t, ok)
	require.Equal(t, 7, x)
}

func TestAnAnchorIsRefusedOnce(t *testing.T) {
	require.Equal(t, "f.yaml:1:4: anchors, aliases and merge keys are not read here; write the value out",
		refused(t, "a: &x {b: 1}\nc: *x\nd: &y [*x, *x]\ne: !!str 1\n"))
}

func TestNumbersWithAnExponent(t *testing.T) {
	for text, want := range map[string]float64{"1e-3": 1e-3, "1E3": 1000, "-2e+1": -20, "1.5e-3": 1.5e-3, ".5": 0.5} {
		s, root := Open("f.yaml", []byte("n: "+text+"\n"))
		x, _ := root.Fields("n")["n"].Float()
		require.NoError(t, s.Err(), text)
		require.Equal(t, want, x, text)
	}
	for text, want := range map[string]string{".nan": ".nan can't be counted with; write a number, or leave the line out",
		"-.inf": "-.inf can't be counted with", `"1e-3"`: "write it without quotes", "e3": "is not a number"} {
		s, root := Open("f.yaml", []byte("n: "+text+"\n"))
		root.Fields("n")["n"].Float()
		require.ErrorContains(t, s.Err(), want, text)
	}
}

func TestAFaultIsNeverAsLongAsTheFile(t *testing.T) {
	s, root := Open("f.yaml", []byte("n: "+strings.Repeat("long", 200_000)+"\n"))
	root.Fields("n")["n"].Float()
	require.Less(t, len(s.Err().Error()), 400)
	s, root = Open("f.yaml", []byte(strings.Repeat("long", 200_000)+": 1\n"))
	root.Fields("n")
	require.Less(t, len(s.Err().Error()), 400)
}
