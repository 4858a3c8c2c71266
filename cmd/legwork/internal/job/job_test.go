package job

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"legwork/cmd/legwork/internal/source"
	"legwork/diagnose"
	"legwork/diagnose/wiring"
	"legwork/probe/sheet"
)

const kiln = `legwork-job: 1
site: Tidewater kiln house
panel: Panel K2
metered: branch
service: 120/208Y
meter: 'tcp://192.0.2.10/7'
map: maps/kiln.yaml
cts: {output: voltage, secondary: 333 mV, primary: 200}
legs: {1: red, 2: black, 3: "", neutral: white}
reference_breaker: K2, 38-40-42
generation: possible
min_current: 500 mA
people: {technician: R. Quill}
seen: ['leg 2 on: channel 3 up', 'sequence ABC']
remarks: |
  Two lines
  of them
`

func TestASheetIsReadAsItStands(t *testing.T) {
	j, err := Parse(filepath.Join("jobs", "kiln.yaml"), []byte(kiln))
	require.NoError(t, err)
	require.Equal(t, source.TCP, j.Meter.Kind)
	require.Equal(t, 7, j.Meter.Unit)
	require.Equal(t, filepath.Join("jobs", "maps", "kiln.yaml"), j.Map, "paths count from the sheet")
	require.Equal(t, filepath.Join("jobs", "kiln.record.jsonl"), j.RecordFile())
	require.True(t, j.VoltageOutput())
	require.Equal(t, 200.0, j.CTs.Primary)
	require.Equal(t, 0.5, j.MinCurrent)
	require.Equal(t, diagnose.GenerationPossible, j.Generation)
	require.Equal(t, []Conductor{{"1", "red"}, {"2", "black"}, {"neutral", "white"}}, j.Legs)
	require.Len(t, j.Seen, 2)
	require.Equal(t, "away from the breaker, towards the load", j.Metered.Arrow())
	require.Contains(t, j.Remarks, "of them")
}

func TestBlankLinesSayNothing(t *testing.T) {
	j, err := Parse("k.yaml", []byte("legwork-job: 1\nmeter: sim:kiln-house\nsite:\ncts:\n  output:\n  primary:\nlegs:\nseen:\nmetered: ''\nmin_current:\npeople:\n"))
	require.NoError(t, err)
	require.Zero(t, j.MinCurrent)
	require.False(t, j.VoltageOutput(), "a CT that isn't known counts as the dangerous one")
	require.Empty(t, j.Metered.Arrow())
}

func TestEveryFaultIsToldAtOnce(t *testing.T) {
	_, err := Parse("k.yaml", []byte(`legwork-job: 2
stie: Kiln house
metered: mane
service: 120/280Y
meter: tcp://h/300
map: [a]
cts: {output: current, secondary: 333 mV, primary: -5 A}
legs: {4: red}
generation: maybe
min_current: 1 kV
people: {boss: x}
seen: ['leg one on', 'ct 2 arrow wrong']
`))
	require.Error(t, err)
	for _, want := range []string{
		"k.yaml:1:14: version 2 of the job sheet's format is not known",
		`k.yaml:2:1: "stie" is not known here; did you mean site?`,
		`k.yaml:3:10: "mane" is not one of mains, branch; did you mean mains?`,
		`k.yaml:4:10: "120/280Y" is not a service`, "did you mean 120/208Y?",
		`k.yaml:5:8: "tcp://h/300": unit "300"`,
		"k.yaml:6:6: this is a list",
		`k.yaml:7:35: "333 mV" is in mV, where A is wanted; write it such as 5 A or 1 A`,
		`k.yaml:7:52: "-5 A" is out of range`,
		`k.yaml:8:8: "4" is no conductor here`,
		`k.yaml:9:13: "maybe" is not one of unknown, none, possible`,
		`k.yaml:10:14: "1 kV" is in kV, where A is wanted`,
		`k.yaml:11:10: "boss" is not known here`,
		`k.yaml:12:8: "leg one on" is not understood; say one of: leg 2 on: channel 3 up`,
	} {
		require.ErrorContains(t, err, want)
	}
	require.Len(t, strings.Split(err.Error(), "\n"), 13)
}

func TestWhatIsNoMeterOfAJob(t *testing.T) {
	for text, want := range map[string]string{
		"meter: other.yaml\n":                               "can't name another",
		"meter: '-'\n":                                      "standard input",
		"meter: sim:kiln-house\nmap: m.yaml\n":              "brings its own register map",
		"meter: sim:kiln-house\nlegwork-map: 1\n":           "this is a register map",
		"meter: sim:kiln-house\nlegs: {3: blue}\n":          "120/240 has no leg 3",
		"meter: sim:kiln-house\ncts: {secondary: 333 mV}\n": "say `output: voltage` with it",
	} {
		_, err := Parse("k.yaml", []byte("legwork-job: 1\nservice: 120/240\n"+text))
		require.ErrorContains(t, err, want, text)
	}
	_, err := Parse("k.yaml", []byte("site: x\nmeter: sim:kiln-house\n"))
	require.ErrorContains(t, err, "this doesn't say that it is a job sheet; begin with `legwork-job: 1`")
	_, err = Parse("k.yaml", []byte("legwork-job:\nmeter: sim:kiln-house\n"))
	require.ErrorContains(t, err, "k.yaml:1:1: this is nothing", "a blank version is none")
	j, err := Parse("k.yaml", []byte("legwork-job: 1\nservice:\nmeter: # none yet\n"))
	require.NoError(t, err, "most of a job needs no meter")
	require.EqualError(t, j.NeedsMeter(), "k.yaml:3:1: the sheet names no meter; write `meter:` and a METER, such as "+
		"tcp://HOST/UNIT; `legwork find --into` does it")
	_, err = Parse("k.yaml", []byte("legwork-job: 1\nmeter: sim:kiln-house\nseen:\n- ct 2 arrow wrong\n-\n"))
	require.ErrorContains(t, err, "k.yaml:5:", "a blank item is none that can be left out")
}

// A blank sheet lacks a meter and nothing else, for every service and region,
// and with a meter it can be used as it is.
func TestABlankSheetCanBeRead(t *testing.T) {
	for _, region := range append(Regions(), "") {
		for _, s := range wiring.Services() {
			src, err := Blank(BlankOptions{Service: s.Name, Region: region})
			require.NoError(t, err)
			j, err := Parse("new.yaml", src)
			require.NoError(t, err)
			err = j.NeedsMeter()
			require.ErrorContains(t, err, "the sheet names no meter")
			require.NotContains(t, err.Error(), "\n")

			src, err = Blank(BlankOptions{Service: s.Name, Region: region, Meter: "tcp://it's/1"})
			require.NoError(t, err)
			j, err = Parse("new.yaml", src)
			require.NoError(t, err)
			require.Equal(t, s.Name, j.Service)
		}
	}
	_, err := Blank(BlankOptions{Region: "cananda"})
	require.ErrorContains(t, err, "did you mean canada?")
	_, err = Blank(BlankOptions{Service: "1"})
	require.ErrorContains(t, err, "is not a service")
}

// Colours: the sources stand at wiring.ColourCode.
func TestColours(t *testing.T) {
	for _, c := range []struct {
		region, service string
		want            [3]string
	}{
		{"canada", "120/208Y", [3]string{"red", "black", "blue"}},
		{"", "347/600Y", [3]string{"red", "black", "blue"}},
		{"us", "120/208Y", [3]string{"black", "red", "blue"}},
		{"us", "277/480Y", [3]string{"brown", "orange", "yellow"}},
		{"us", "120/240D", [3]string{"black", "orange", "blue"}},
		{"", "230/400Y", [3]string{"brown", "black", "grey"}},
		{"", "120/208Y", [3]string{}}, // by country, so it isn't guessed
		{"none", "230/400Y", [3]string{}},
	} {
		s, err := wiring.ParseService(c.service)
		require.NoError(t, err)
		code, err := codeOf(c.region, s)
		require.NoError(t, err)
		colours := code.Conductors(s)
		require.Equal(t, c.want, [3]string(colours[:3]), c)
	}
}

func TestFilesOfASheet(t *testing.T) {
	dir := t.TempDir()
	file := filepath.Join(dir, "k.yaml")
	_, err := Load(file)
	require.ErrorContains(t, err, "legwork job new")
	require.NoError(t, os.WriteFile(file, []byte("legwork-job: 1\nmeter: tcp://h/1\n"), 0o600))
	j, err := Load(file)
	require.NoError(t, err)
	require.ErrorContains(t, j.CheckFiles(), "wants a register map")
	require.NoError(t, os.WriteFile(file, []byte("legwork-job: 1\nmeter: tcp://h/1\nmap: m.yaml\n"), 0o600))
	j, err = Load(file)
	require.NoError(t, err)
	require.ErrorContains(t, j.CheckFiles(), filepath.Join(dir, "m.yaml")+": there is no such file")
	_, err = Load(dir)
	require.Error(t, err)
	require.NotContains(t, err.Error(), "legwork job new")
}

func FuzzParse(f *testing.F) {
	f.Add([]byte(kiln))
	f.Add([]byte("legwork-job: 1\nlegs: {1: }\nseen: x\ncts: 3\npeople: []\n"))
	f.Fuzz(func(t *testing.T, src []byte) {
		j, err := Parse("k.yaml", src)
		if err != nil { // law 1: every fault has a place
			for line := range strings.SplitSeq(err.Error(), "\n") {
				require.True(t, strings.HasPrefix(line, "k.yaml:"), line)
			}
			return
		}
		require.GreaterOrEqual(t, j.MinCurrent, 0.0, "law 2: no quantity below zero")
		require.Equal(t, len(j.Seen), len(j.SeenTexts))
	})
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
