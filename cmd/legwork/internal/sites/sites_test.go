package sites

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"legwork/cmd/legwork/internal/job"
	"legwork/cmd/legwork/internal/source"
	"legwork/diagnose"
)

func noSheets(file string) (*job.Job, error) {
	return nil, errors.New(file + ": there is no such file")
}

func parse(t *testing.T, src string) *List {
	l, err := Parse("yard/sites.csv", []byte(src), noSheets)
	require.NoError(t, err)
	return l
}

func TestRows(t *testing.T) {
	l := parse(t, "\xEF\xBB\xBFmeter,name,map,service,generation,load,site,under,ct_primary,note,wire\r\n"+
		"tcp://Gate-1:1502/7, kiln-1 ,maps/m.yaml,120/208Y,possible,\"motors, heating\",Tidewater,house,200 A,\"by the \"\"old\"\" door\",\r\n"+
		"\r\n"+
		"tcp://gate-1:1502/8,house,/etc/m.yaml,,,,,,,,\r\n"+
		"sim:saw-shed?seed=3,saw,,,none,,,,,,Bus-2\r\n"+
		"day.jsonl,told,,,,,,house,,,\r\n")
	require.Len(t, l.Sites, 4)
	k := l.Sites[0]
	require.Equal(t, "kiln-1", k.Name)
	require.Equal(t, filepath.Join("yard", "maps", "m.yaml"), k.Map)
	require.Equal(t, []diagnose.LoadSort{"motors", "heating"}, k.Load)
	require.InDelta(t, 200, k.CTPrimary, 0)
	require.Equal(t, `by the "old" door`, k.Note)
	require.Equal(t, "house", k.Under)
	require.Equal(t, 7, k.Meter.Unit)
	require.Equal(t, diagnose.GenerationPossible, k.Options(nil).Generation)
	require.Equal(t, "/etc/m.yaml", l.Sites[1].Map)
	require.Equal(t, filepath.Join("yard", "day.jsonl"), l.Sites[3].Meter.Name)
	require.Equal(t, k, l.Find("kiln-1"))
	require.Nil(t, l.Find("kiln-9"))

	var keys []string
	for _, w := range l.Wires() {
		keys = append(keys, fmt.Sprint(w.Key, " ", len(w.Sites)))
	}
	require.Equal(t, []string{"gate-1:1502 2", "bus-2 1", "day.jsonl 1"}, keys)
}

func TestOtherSeparators(t *testing.T) {
	require.Len(t, parse(t, "name;meter\na;sim:kiln-house\n").Sites, 1)
	require.Len(t, parse(t, "name\tmeter\na\tsim:kiln-house\n").Sites, 1)
}

func TestWireOf(t *testing.T) {
	for meter, want := range map[string]string{
		"tcp://Yard.example":              "yard.example:502",
		"tcp://yard.example:502/9":        "yard.example:502",
		"tls://yard.example/9":            "yard.example:802",
		"rtu+tcp://10.0.0.7:4001/3":       "10.0.0.7:4001",
		"tcp://[FE80::1]/3":               "[fe80::1]:502",
		"rtu:///dev/ttyUSB0?unit=4":       "serial:/dev/ttyUSB0",
		"rtu:///dev/ttyUSB0?baud=9600":    "serial:/dev/ttyUSB0",
		"sim:kiln-house?fault=ct2-open":   "sim:kiln-house?fault=ct2-open",
		"rtu://COM5?baud=19200&unit=1":    "serial:COM5",
		"tcp://xn--bcher-kva.example:502": "xn--bcher-kva.example:502",
	} {
		a, err := source.Parse(meter)
		require.NoError(t, err)
		require.Equal(t, want, WireOf(a), meter)
	}
}

// Every fault of the file is told at once, each at its place.
func TestEveryFaultAtOnce(t *testing.T) {
	_, err := Parse("sites.csv", []byte("name,meter,undr,map,service,generation,load,under,ct_primary,meter\n"+
		"a,tcp://h,,m.yaml,120/209Y,maybe,furnaces,nobody,none,\n"+
		"a,http://h,,,,,,,,\n"+
		",sim:kiln-house,,m.yaml,,,,,,\n"+
		"c,tcp://h,,,,,,d,-5,\n"+
		"d,rtu+tcp://h:502,,m.yaml,,,,c,,\n"+
		"e,-,,,,,,e,,,,,\n"+
		"f,-,,,,,,,,\n"+
		"g,job.yaml,,,,,,,,\n"+
		"h,,,,,,,,,\n"+
		"\"k\u202e\",sim:kiln-house,,,,,,,,\n"), noSheets)
	require.Error(t, err)
	for _, want := range []string{
		`sites.csv:1:12: "undr" is no column of a sites file; did you mean under?`,
		`sites.csv:1:62: the column "meter" stands twice; keep one of them`,
		`sites.csv:2:19: "120/209Y" is not a service`,
		`sites.csv:2:28: generation: "maybe" is not one of unknown, none, possible`,
		`sites.csv:2:34: load: "furnaces" is no sort of load`,
		`sites.csv:2:43: under: there is no meter "nobody"`,
		`sites.csv:2:50: ct_primary: "none"`,
		`sites.csv:3:1: the name "a" stands twice; line 2 has it already`,
		`sites.csv:3:3: "http://h": a METER is`,
		`sites.csv:4:1: the meter has no name`,
		`sites.csv:4:2: sim:kiln-house brings its own readings; leave ` + "`map` blank",
		`sites.csv:5:3: tcp://h needs a register map`,
		`sites.csv:5:16: under: "c" is above "d", which is above it`,
		`sites.csv:5:18: ct_primary: "-5" is out of range`,
		`sites.csv:6:1: rtu+tcp://h:502 and tcp://h (a) are on one connection; write both with the same scheme`,
		`sites.csv:7:14: the row has 13 cells, and the header 10`,
		`sites.csv:8:3: standard input is no meter of a list`,
		`sites.csv:9:3: job.yaml: there is no such file`,
		`sites.csv:10:3: the row names no meter`,
		`sites.csv:11:1: the name "k\u202e" can't stand in an address`,
	} {
		require.ErrorContains(t, err, want)
	}
}

func TestFilesThatAreNone(t *testing.T) {
	for src, want := range map[string]string{
		"":                       "s.csv:1:1: the file is empty",
		"\xFF\xFEn\x00":          "s.csv:1:1: this is UTF-16",
		"name,map\na,b\n":        `there is no column "meter"`,
		"name,meter\n":           "s.csv:2:1: there is no meter below the header",
		"name,meter\na,\"b\nc\n": "no CSV here",
		"legwork-map: 1\n":       `"legwork-map: 1" is no column`,
	} {
		_, err := Parse("s.csv", []byte(src), noSheets)
		require.ErrorContains(t, err, want, src)
	}
}

// After a cell that is no CSV the rest of the file is still looked at.
func TestQuotesDoNotHideLaterFaults(t *testing.T) {
	_, err := Parse("s.csv", []byte("name,meter\na\"b,sim:kiln-house\nc,no thing\n"), noSheets)
	require.ErrorContains(t, err, "s.csv:2:2: no CSV here")
	require.ErrorContains(t, err, "s.csv:3:3:")
}

const tinyMap = "legwork-map: 1\npoints:\n  voltage.1: {at: 0, type: f32}\n  current.1: {at: 2, type: f32}\n  power.1: {at: 4, type: f32}\n"

func write(t *testing.T, name, text string) {
	require.NoError(t, os.MkdirAll(filepath.Dir(name), 0o700))
	require.NoError(t, os.WriteFile(name, []byte(text), 0o600))
}

func TestLoadOpensEachMapOnce(t *testing.T) {
	dir := t.TempDir()
	write(t, filepath.Join(dir, "maps", "m.yaml"), tinyMap)
	write(t, filepath.Join(dir, "bad.yaml"), "legwork-map: 1\npoints: 7\n")
	write(t, filepath.Join(dir, "job.yaml"),
		"legwork-job: 1\nmeter: tcp://h/3\nmap: maps/m.yaml\nsite: Tidewater\nservice: 120/208Y\ngeneration: possible\n")
	file := filepath.Join(dir, "s.csv")
	write(t, file, "name,meter,map,service\na,tcp://h/1,maps/m.yaml,\nb,tcp://h/2,maps/m.yaml,\nc,job.yaml,,230/400Y\n")
	l, err := Load(file)
	require.NoError(t, err)
	require.Len(t, l.Maps, 1)
	require.NotNil(t, l.Maps[l.Sites[0].Map])
	c := l.Find("c")
	require.Equal(t, "Tidewater", c.Place)
	require.Equal(t, "230/400Y", c.Service, "the row goes before the sheet")
	require.Equal(t, diagnose.GenerationPossible, c.Generation)
	require.Equal(t, "h:502", c.Wire)

	write(t, file, "name,meter,map\na,tcp://h/1,none.yaml\nb,tcp://h/2,bad.yaml\n")
	_, err = Load(file)
	require.ErrorContains(t, err, "s.csv:2:3:")
	require.ErrorContains(t, err, "none.yaml: there is no such file")
	require.ErrorContains(t, err, "bad.yaml:2:9:")
	_, err = Load(filepath.Join(dir, "nowhere"))
	require.ErrorContains(t, err, "no such file")
}

func TestFolderOfJobSheets(t *testing.T) {
	dir := t.TempDir()
	write(t, filepath.Join(dir, "m.yaml"), tinyMap)
	write(t, filepath.Join(dir, "suite-1.yaml"), "legwork-job: 1\nmeter: tcp://H/3\nmap: m.yaml\ncts: {primary: 100 A}\n")
	write(t, filepath.Join(dir, "suite-2.yml"), "legwork-job: 1\nmeter: sim:kiln-house\n")
	l, err := Load(dir)
	require.NoError(t, err)
	require.Len(t, l.Sites, 2)
	require.Equal(t, "suite-1", l.Sites[0].Name)
	require.Equal(t, "h:502", l.Sites[0].Wire)
	require.InDelta(t, 100, l.Sites[0].CTPrimary, 0)

	write(t, filepath.Join(dir, "suite-3.yaml"), "legwork-job: 1\nmeter: tcp://h\nservice: 1\n")
	write(t, filepath.Join(dir, "suite-4.yaml"), "legwork-job: 1\nmeter: tcp://h\n")
	_, err = Load(dir)
	require.ErrorContains(t, err, "suite-3.yaml:3:10:")
	require.ErrorContains(t, err, "suite-4.yaml:1:1: tcp://h needs a register map")
	_, err = Load(t.TempDir())
	require.ErrorContains(t, err, "no job sheet")
}

func large(n int) []byte {
	var b bytes.Buffer
	b.WriteString("name,meter,map,service,generation,load,site,under,ct_primary,note\n")
	for i := range n {
		fmt.Fprintf(&b, "suite-%d,tcp://10.%d.%d.%d:502/%d,m.yaml,120/208Y,none,motors,Building %d,main-%d,200,\n", i,
			i/20>>16&255, i/20>>8&255, i/20&255, i%20+1, i/200, i/200)
		if i%200 == 0 {
			fmt.Fprintf(&b, "main-%d,tcp://11.0.0.%d:502/1,m.yaml,120/208Y,,,Building %d,,,\n", i/200, i/200, i/200)
		}
	}
	return b.Bytes()
}

// Ten thousand rows in under 50 ms.
func BenchmarkTenThousandRows(b *testing.B) {
	src := large(10_000)
	b.SetBytes(int64(len(src)))
	for b.Loop() {
		l, err := Parse("sites.csv", src, noSheets)
		if err != nil || len(l.Wires()) != 500+50 {
			b.Fatal(err, len(l.Wires()))
		}
	}
}

func FuzzParse(f *testing.F) {
	f.Add("name,meter,under\na,sim:kiln-house,b\nb,tcp://h/2,a\n")
	f.Add("name;meter;map\n\"a;\"\"b\";rtu://COM3;x\n")
	f.Add("name,meter\na,j.yaml\n\"")
	f.Fuzz(func(t *testing.T, src string) {
		l, err := Parse("f.csv", []byte(src), noSheets)
		if err != nil {
			for line := range strings.Lines(err.Error()) {
				require.True(t, strings.HasPrefix(line, "f.csv:") || !strings.HasPrefix(line, "f"),
					line) // law 1: a fault has its place
			}
			return
		}
		names, n := map[string]bool{}, 0
		for _, s := range l.Sites {
			require.False(t, names[s.Name]) // law 2: names are unlike
			names[s.Name] = true
		}
		for _, w := range l.Wires() { // law 3: each meter is on one wire
			n += len(w.Sites)
		}
		require.Equal(t, len(l.Sites), n)
		for _, s := range l.Sites { // law 4: `under` leads to a meter that has none
			for i := 0; s.Under != ""; i++ {
				s = l.Find(s.Under)
				require.NotNil(t, s)
				require.Less(t, i, len(l.Sites))
			}
		}
	})
}
