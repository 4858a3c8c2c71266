package sheet

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestNear(t *testing.T) {
	names := []string{"voltage", "current", "meter", "at"}
	require.Equal(t, "voltage", Near("volatge", names))
	require.Equal(t, "meter", Near("metre", names))
	require.Equal(t, "current", Near("curent", names))
	require.Empty(t, Near("something else", names))
}

func TestFaultsComeInOrderAndAreBounded(t *testing.T) {
	s, root := Open("f.yaml", []byte(strings.Repeat("x", 3)+": 1\nb: 2\n"))
	for i := range 80 {
		root.FaultAt(80-i, 1, "wrong", "mend it")
	}
	var faults *Faults
	require.ErrorAs(t, s.Err(), &faults)
	require.Len(t, faults.List, mostFaults)
	first, rest := faults.Told()
	require.Len(t, first, 10)
	require.Equal(t, "f.yaml: 70 more faults; mend these first, and look again", rest)
	require.Equal(t, "f.yaml:1:1: wrong; mend it", faults.List[0].Error())
}

func TestNumbersMustBePlain(t *testing.T) {
	for text, ok := range map[string]bool{"10": true, "0x10": true, "-3": true, "010": false, "4_0": false, `"7"`: false,
		"1.5": false, "ten": false, "[1]": false} {
		s, root := Open("f.yaml", []byte("n: "+text+"\n"))
		_, got := root.Fields("n")["n"].Int(-100, 100)
		require.Equal(t, ok, got, text)
		require.Equal(t, ok, s.Err() == nil, text)
	}
}

// form has a field of every type that Decode knows.
type form struct {
	Version int             `sheet:"form" is:"a form" version:"the form" need:"1" doc:"Version."`
	Name    string          `sheet:"name" doc:"Name."`
	Way     Field[string]   `sheet:"way" of:"in out" doc:"Way."`
	Size    Number          `sheet:"size" from:"0" to:"2" doc:"Size."`
	Count   Int             `sheet:"count" from:"1" doc:"Count."`
	Is      bool            `sheet:"is" doc:"Is it?"`
	Part    part            `sheet:"part" doc:"Part."`
	Parts   List[part]      `sheet:"parts" doc:"Parts."`
	Sizes   List[float64]   `sheet:"sizes" from:"1" doc:"Sizes."`
	Notes   Map[string]     `sheet:"notes" doc:"Notes."`
	Figures map[string]Text `sheet:"a.1 a.2" doc:"Figures."`
	Any     Node            `sheet:"any" doc:"Anything."`
}

type part struct {
	Node
	Of string `sheet:"of" need:"..." doc:"What it is of."`
}

const whole = "form: 1\nname: x\nway: out\nsize: 1.5\ncount: 3\nis: true\npart: {of: y}\nparts: [{of: a}, {of: b}]\n" +
	"sizes: [1, 2]\nnotes: {k: v}\na.2: 07\nany: [1]\n"

func TestDecode(t *testing.T) {
	var f form
	require.NoError(t, Read("f.yaml", []byte(whole), &f, func(Node) {}))
	require.Equal(t, "x", f.Name)
	require.Equal(t, "out", f.Way.Or("in"))
	require.Equal(t, 1.5, f.Size.Value)
	require.Equal(t, 3, f.Count.Value)
	require.True(t, f.Is)
	require.Equal(t, "y", f.Part.Of)
	require.Equal(t, []float64{1, 2}, slices.Collect(f.Sizes.Each()))
	var places []int
	for p := range f.Parts.Each() {
		line, column := p.Position()
		places = append(places, line, column)
	}
	require.Equal(t, []int{8, 9, 8, 18}, places)
	require.Equal(t, "v", f.Notes.Read(f.Notes.Entries()[0]))
	require.Equal(t, "07", f.Figures["a.2"].Value, "as it was written")
	require.NotContains(t, f.Figures, "a.1")
	require.True(t, f.Any.Is())
}

func TestDecodeFindsEveryFaultAtOnce(t *testing.T) {
	for src, want := range map[string]string{
		"nam: x\nway: ot\nsize: 3\ncount: 0\nis: 1\npart: {}\nparts: [{of: [1]}]\nsizes: [0, x]\na.1:\n": `f.yaml:1:1: "nam" is not known here; did you mean name?
f.yaml:1:4: this doesn't say that it is a form; begin with ` + "`form: 1`" + `
f.yaml:2:6: "ot" is not one of in, out; did you mean out?
f.yaml:3:7: 3 is out of range; from 0 to 2
f.yaml:4:8: 0 is out of range; from 1 up
f.yaml:5:5: this is a number; write true or false
f.yaml:6:1: of is missing; write ` + "`of: ...`" + `
f.yaml:7:14: this is a list; write a text
f.yaml:8:9: 0 is out of range; from 1 up
f.yaml:8:12: "x" is not a number; write it without quotes or unit
f.yaml:9:1: this is nothing; write a text`,
		"form: 2\n": "f.yaml:1:7: version 2 of the form's format is not known; this legwork reads version 1",
	} {
		var f form
		err := Read("f.yaml", []byte(src), &f, func(Node) {
			for range f.Parts.Each() {
			}
			for range f.Sizes.Each() {
			}
		})
		require.EqualError(t, err, want)
	}
}

// In a sheet that is handed out a blank line says nothing; a first line must.
func TestLenient(t *testing.T) {
	s, root := Open("f.yaml", []byte("form:\nname:\nway: ''\nsize:\npart:\nparts:\n"))
	var f form
	root.Lenient().Decode(&f)
	require.EqualError(t, s.Err(), "f.yaml:1:1: this is nothing; write a whole number")
	require.False(t, f.Way.OK)
	require.True(t, f.Way.Is(), "it has a place")
}

func TestRulesAreTheTable(t *testing.T) {
	kinds := map[string]string{}
	for _, r := range Rules(form{}) {
		kinds[r.Names[0]] = strings.TrimSuffix(r.Kind+" of "+r.Items, " of ")
		require.NotEmpty(t, r.Doc)
	}
	require.Equal(t, map[string]string{"form": "integer", "name": "string", "way": "string", "size": "number", "count": "integer",
		"is": "boolean", "part": "object", "parts": "array of object", "sizes": "array of number", "notes": "object of string",
		"a.1": "string", "any": ""}, kinds)
	require.Equal(t, "of", Rules(form{})[7].Inner[0].Names[0])
	require.Equal(t, []string{"in", "out"}, Rules(form{})[2].Of)
}

// A table is read by the struct of a list's items.
func TestTable(t *testing.T) {
	table := OpenTable("f.csv", []byte("\ufeffof, a.1\nx, \"1,5\"\n,2\n"), Columns{Known: []string{"of", "a.1"}, Such: "of"})
	require.NoError(t, table.Err())
	require.Equal(t, []string{"of", "a.1"}, table.Names)
	var p part
	table.Rows[1].Decode(&p)
	require.EqualError(t, table.Err(), "f.csv:3:1: of is missing; write `of: ...`\nf.csv:3:2: \"a.1\" is not known here; known are of")
}

func TestProblemOf(t *testing.T) {
	p := Problem{"wrong", "mend it"}
	require.Equal(t, p, ProblemOf(fmt.Errorf("in a table: %w", p)))
	require.Equal(t, Problem{What: "a; b"}, ProblemOf(errors.New("a; b")))
	require.EqualError(t, p, "wrong; mend it")
}

func FuzzOpen(f *testing.F) {
	f.Add([]byte("a: {b: [1, 2]}\nc: |\n  text\n"))
	f.Add([]byte("&x a: *x\n<<: y\n--- !!t z"))
	f.Fuzz(func(t *testing.T, src []byte) {
		s, root := Open("f.yaml", src)
		for _, e := range root.Entries() { // law 1: whatever opens can be walked
			e.Value.Text()
			e.Value.Float()
			e.Value.Bool()
			for _, item := range e.Value.List() {
				item.Fields("b")
			}
		}
		var f form
		root.Decode(&f) // law 2: and decoded
		for p := range f.Parts.Each() {
			require.NotNil(t, p)
		}
		if err := s.Err(); err != nil { // law 3: every fault has a place
			require.True(t, strings.HasPrefix(err.Error(), "f.yaml:"))
		}
	})
}
