package regmap

import (
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"legwork/probe/reading"
	"legwork/probe/sheet"
)

var update = flag.Bool("update", false, "write the golden files anew")

// Every file in testdata/bad is refused with exactly what its .txt says.
func TestBadFilesSayWhatIsWrong(t *testing.T) {
	files, err := filepath.Glob("testdata/bad/*.yaml")
	require.NoError(t, err)
	require.NotEmpty(t, files)
	for _, file := range files {
		t.Run(filepath.Base(file), func(t *testing.T) {
			src, err := os.ReadFile(file)
			require.NoError(t, err)
			_, err = Parse(filepath.Base(file), src)
			require.Error(t, err)
			golden := strings.TrimSuffix(file, "yaml") + "txt"
			if *update {
				require.NoError(t, os.WriteFile(golden, []byte(err.Error()+"\n"), 0o644))
			}
			want, readErr := os.ReadFile(golden)
			require.NoError(t, readErr)
			require.Equal(t, string(want), err.Error()+"\n")
		})
	}
}

func TestHugeFileIsRefusedUnread(t *testing.T) {
	_, err := Parse("huge.yaml", make([]byte, 2<<20))
	require.EqualError(t, err, "huge.yaml:1:1: the file has 2097152 bytes or more; at most 1048576 are read; is it the right file?")
}

func TestFaultShowsItsLineWithACaret(t *testing.T) {
	_, err := Parse("m.yaml", []byte("legwork-map: 1\nmetre: x\n"))
	var faults *Faults
	require.ErrorAs(t, err, &faults)
	require.Equal(t, "metre: x\n^", faults.List[len(faults.List)-1].Snippet)
}

// The example that the README and the outer surface give.
func TestMapOfTheREADME(t *testing.T) {
	m := parseFile(t, "testdata/kiln.yaml")
	require.Equal(t, "Kiln house feeder, three elements", m.Meter)
	require.Equal(t, 1, m.Unit)
	require.Equal(t, 2, m.Channels())
	require.Equal(t, []Request{{Holding, 0, 21}, {Input, 30, 1}}, m.Plan(Limits{}))

	var r reading.Reading
	m.Decode([]Block{
		{Request{Holding, 12, 2}, []uint16{0x0000, 0x05AA}},
		{Request{Holding, 20, 1}, []uint16{0xFFAE}},
		{Request{Input, 30, 1}, []uint16{5998}},
	}, &r)
	require.InDelta(t, 1450, r.Channels[0].Power.Or(0), 1e-9)
	require.InDelta(t, -8.2, float64(r.Channels[0].Angle.Or(0)), 1e-9)
	require.InDelta(t, 59.98, r.Frequency.Or(0), 1e-9)
	require.False(t, r.Channels[0].Voltage.Known())
}

func parseFile(t testing.TB, file string) *Map {
	src, err := os.ReadFile(file)
	require.NoError(t, err)
	m, err := Parse(file, src)
	require.NoError(t, err)
	return m
}

// Found by the fuzzer: `absent` was read before it was known that there is no type.
func TestAbsentWithoutType(t *testing.T) {
	_, err := Parse("m.yaml", []byte("points:\n  power.1: {absent: 0}"))
	require.ErrorContains(t, err, "power.1 has no `type`; add `type:`")
}

// Editors are told what each name takes, from the table that the parser reads.
func TestEveryNameIsExplained(t *testing.T) {
	var check func(rules []sheet.Rule)
	check = func(rules []sheet.Rule) {
		for _, r := range rules {
			require.Regexp(t, `^[A-Z].*[.]$`, r.Doc, r.Names)
			check(r.Inner)
		}
	}
	check(Rules())
}
