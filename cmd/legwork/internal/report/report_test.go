package report

import (
	"bytes"
	"encoding/json"
	"encoding/xml"
	"flag"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"legwork/cmd/legwork/internal/job"
	"legwork/cmd/legwork/internal/record"
	"legwork/diagnose"
	"legwork/diagnose/asleft"
	"legwork/probe/capture"
	"legwork/probe/reading"
)

// tables are made once for all the tests here.
var tables = diagnose.NewTables()

var update = flag.Bool("update", false, "write the golden files anew")

var day = time.Date(2026, 5, 4, 9, 30, 0, 0, time.UTC)

// kiln is a reading of the Tidewater kiln house with its angles.
func kiln(at time.Time, theta ...float64) reading.Reading {
	r := reading.Reading{At: at, Service: "120/208Y", Serial: "TKH-0417", Model: "three-element feeder meter"}
	for k, a := range theta {
		amps := 80 + 4*float64(k)
		r.Channels = append(r.Channels, reading.Channel{Voltage: reading.Known(120.1), Current: reading.Known(amps),
			Angle:        reading.Known(reading.Degrees(a)),
			Power:        reading.Known(120.1 * amps * math.Cos(a*math.Pi/180)),
			Reactive:     reading.Known(120.1 * amps * math.Sin(a*math.Pi/180)),
			VoltageAngle: reading.Known(reading.Degrees(-120 * float64(k)))})
	}
	return r
}

// entry judges readings as the command does.
func entry(t testing.TB, kind record.Kind, readings ...reading.Reading) record.Entry {
	t.Helper()
	e := record.Entry{Kind: kind, At: readings[0].At, Site: "Tidewater kiln house",
		Meter: &record.Meter{Address: "tcp://192.0.2.10/1", Serial: readings[0].Serial},
		Map:   &record.File{Name: "kiln.map.yaml", SHA256: record.Seal([]byte("a map"))}}
	for _, r := range readings {
		var b bytes.Buffer
		require.NoError(t, capture.NewWriter(&b).Write(r))
		e.Readings = append(e.Readings, bytes.TrimSpace(b.Bytes()))
	}
	verdict := diagnose.Diagnose(readings, diagnose.Options{Tables: tables})
	e.Verdict = &verdict
	return e
}

// reportOf makes a report of entries, by way of a record on the disk.
func reportOf(t testing.TB, sheet string, entries ...record.Entry) *Report {
	t.Helper()
	path := filepath.Join(t.TempDir(), "kiln.record.jsonl")
	for _, e := range entries {
		_, err := record.At(path).Append(e)
		require.NoError(t, err)
	}
	log, err := record.At(path).Read()
	require.NoError(t, err)
	j, err := job.Parse("kiln.yaml", []byte(sheet))
	require.NoError(t, err)
	return &Report{Job: j, Record: "kiln.record.jsonl", Log: log, Made: day.Add(3 * time.Hour)}
}

const sheet = `legwork-job: 1
site: Tidewater kiln house
panel: Panel K2, kiln room
metered: mains
service: 120/208Y
meter: tcp://192.0.2.10/1
map: kiln.map.yaml
cts: {output: current, secondary: 5 A, primary: 200 A}
legs: {1: red, 2: black, 3: blue, neutral: white}
reference_breaker: K2, circuits 38-40-42, 15 A
people: {technician: R. Quill}
`

// wholeJob is a reversed CT found, turned and left right.
func wholeJob(t testing.TB) *Report {
	found := entry(t, record.AsFound, kiln(day, 20, -155, 30))
	left := entry(t, record.AsLeft, kiln(day.Add(2*time.Hour), 21, 26, 29))
	left.Compared = asleft.New().Compare(found.Verdict, left.Verdict)
	left.Cautions = []string{"the register map is another one than that of entry 1"}
	moved := record.Entry{Kind: record.Note, At: day.Add(time.Hour), Moves: []string{"Turned CT 2 round"},
		Reads: []record.Read{{Text: "import: 12345.6 kWh", Name: "import", Value: 12345600, Unit: "Wh"}}}
	return reportOf(t, sheet, found, moved, left)
}

func write(t testing.TB, f func(io.Writer) error) string {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, f(&b))
	return b.String()
}

// seal is a seal as it is printed. Golden text has none: it hangs on every digit
// of a verdict.
var seal = regexp.MustCompile(`[0-9a-f]{64}`)

// matches compares a text with what is kept, or keeps it anew.
func matches(t *testing.T, name, got string) {
	got = seal.ReplaceAllString(got, "SEAL")
	golden := filepath.Join("testdata", name)
	if *update {
		require.NoError(t, os.WriteFile(golden, []byte(got), 0o644))
	}
	want, err := os.ReadFile(golden)
	require.NoError(t, err)
	require.Equal(t, string(want), got)
}

func TestMarkdownAsItStands(t *testing.T) {
	matches(t, "whole.md", write(t, wholeJob(t).Markdown))
}

func TestThePageStandsByItself(t *testing.T) {
	page := write(t, wholeJob(t).HTML)
	require.NotContains(t, page, "<script")
	require.NotContains(t, page, "<link")
	require.NotContains(t, page, "<img")
	require.NotRegexp(t, `(?i)url\(|@import|javascript:| on[a-z]+=`, page)
	for _, address := range regexp.MustCompile(`https?://[^"' <]*`).FindAllString(page, -1) {
		require.Equal(t, "http://www.w3.org/2000/svg", address, "the name of a vocabulary, which nothing loads")
	}
	for _, want := range []string{`<html lang="en">`, "default-src 'none'", "FAULT", "AGREES", "CT 2 is reversed",
		"As found", "As left",
		"Predicted against read", "✓ as predicted", "Turned CT 2 round", "import: 12345.6 kWh", "Registration as found",
		"R. Quill", "signature, date",
		"Never open the secondary", "the register map is another one", "@page", "prefers-color-scheme: dark",
		"a colour never proves a leg"} {
		require.Contains(t, page, want)
	}
	require.NotContains(t, page, "ZgotmplZ", "html/template refused something")
	for _, e := range wholeJob(t).Log.Entries {
		require.Contains(t, page, e.Seal)
	}
	require.Less(t, strings.Index(page, "Before anything is touched"),
		strings.Index(page, "Turn CT 2 round on the conductor"),
		"cautions stand before the first step")
}

func phasorsOf(page string) []string {
	return regexp.MustCompile(`(?s)<svg class="phasors".*?</svg>`).FindAllString(page, -1)
}

func TestTablesAndDrawingsCanBeHeard(t *testing.T) {
	page := write(t, wholeJob(t).HTML)
	require.NotContains(t, page, "<th>", "every head of a table says what it heads")
	require.Equal(t, strings.Count(page, "<table>"), strings.Count(page, "<caption>"))
	sketches := regexp.MustCompile(`(?s)<svg class="sketch".*?</svg>`).FindAllString(page, -1)
	require.Len(t, sketches, 2, "as found, and as left instead of as it should be")
	require.Contains(t, sketches[0], "I2: CT on leg 2, arrow to the supply.")
	require.Contains(t, sketches[0], ">turn</text>")
	require.Contains(t, sketches[1], "I2: CT on leg 2, arrow to the load.")
	require.Less(t, strings.Index(page, `class="sketch"`), strings.Index(page, `class="phasors"`), "the sketch comes first")
	drawings := phasorsOf(page)
	require.Len(t, drawings, 2)
	for i, svg := range drawings {
		require.Contains(t, svg, `role="img"`)
		require.Contains(t, svg, "<title id=")
		require.Contains(t, svg, "Channel 1: voltage at 0 degrees, current 80.00 A lags it by")
		require.NoError(t, xml.Unmarshal([]byte(svg), new(struct{})), "drawing %d is well-formed", i)
		for _, name := range []string{"V1", "V2", "V3", "I1", "I2", "I3"} {
			require.Contains(t, svg, ">"+name+"</text>")
		}
	}
	require.NotContains(t, page, "by -", "a leading current is said to lead")
}

// hostile are texts that try to leave their place.
var hostile = []string{
	`<script>alert(1)</script>`, `"><img src=x onerror=alert(1)>`, `' onmouseover='alert(1)`,
	`</style><script>alert(1)</script>`,
	`</title><script>alert(1)</script>`, `{{.Job}} {{template "x"}}`, `javascript:alert(1)`, `]]><svg onload=alert(1)>`,
	`<!-- `, `&lt;script&gt;`,
	"`| <b>x</b> | [a](javascript:alert(1)) ![i](http://192.0.2.1/x) **bold** # h", "line\n# heading\n| a | b |\n- " +
		"item\n> quote", "\x1b[31mred\x1b[0m\x00\x07",
	"\u202egnp.exe\u202c", strings.Repeat("W", 5000),
}

func TestWhatPeopleTypeStaysText(t *testing.T) {
	for _, text := range hostile {
		found := entry(t, record.AsFound, kiln(day, 20, -155, 30))
		found.Meter = &record.Meter{Address: text, Serial: text, Model: text, Vendor: text, Product: text, Revision: text}
		found.Map.Name = text
		found.Seen, found.Cautions = []string{text}, []string{text}
		words := record.Entry{Kind: record.Note, At: day, Moves: []string{text}, Tests: []string{text},
			Remarks: []string{text},
			Reads:   []record.Read{{Text: text, Name: text, Value: 1, Unit: "V"}}}
		r := reportOf(t, sheet, found, words)
		r.Job.Site, r.Job.Panel, r.Job.Breaker, r.Job.Remarks = text, text, text, text
		r.Job.People = job.People{Technician: text, Electrician: text, Witness: text}
		r.Job.Legs = []job.Conductor{{Name: "1", Colour: text}}
		r.Log.Findings, r.Log.Remarks, r.Record = []string{text}, []string{text}, text

		page := write(t, r.HTML)
		require.NoError(t, onlyOurTags(page), text)
		require.False(t, strings.ContainsAny(page, "\x1b\a\u202e"), "%q", text)
		require.NotContains(t, page, "ZgotmplZ", text)

		md := write(t, r.Markdown)
		require.False(t, strings.ContainsAny(md, "\x1b\a\u202e"), "%q", text)
		require.NotContains(t, md, "<script>")
		require.NotContains(t, md, "<b>")
		require.NotContains(t, md, "\n# heading")
		require.NotContains(t, strings.ReplaceAll(md, `\[`, ""), "[a]", text)
		for line := range strings.SplitSeq(md, "\n") {
			if strings.HasPrefix(line, "| 2 | 2026") {
				cells := strings.Count(line, "|") - strings.Count(line, `\|`)
				require.Contains(t, []int{4, 5}, cells, line)
			}
		}

		var back struct {
			Job struct{ Site string }
		}
		require.NoError(t, json.Unmarshal([]byte(write(t, r.JSON)), &back))
		require.Equal(t, strings.ToValidUTF8(text, "\uFFFD"), back.Job.Site, "JSON keeps what was typed")
	}
}

// onlyOurTags reads a page's tags and refuses any that the template doesn't have.
func onlyOurTags(page string) error {
	ours := map[string]bool{}
	for _, m := range tag.FindAllStringSubmatch(pageSource+`<svg><title><desc><circle><ellipse><rect><path><g><text><style>`, -1) {
		ours[m[1]] = true
	}
	for _, m := range tag.FindAllStringSubmatch(page, -1) {
		if !ours[m[1]] {
			return fmt.Errorf("a tag <%s> came in", m[1])
		}
	}
	if m := regexp.MustCompile(`<[a-z][^>]* on[a-z]+=`).FindString(page); m != "" {
		return fmt.Errorf("a handler came in: %s", m)
	}
	return nil
}

var tag = regexp.MustCompile(`<([a-zA-Z!][a-zA-Z0-9]*)`)

func TestAReportOfAJobThatIsntDone(t *testing.T) {
	r := reportOf(t, sheet, entry(t, record.AsFound, kiln(day, 20, -155, 30)))
	page := write(t, r.HTML)
	require.Contains(t, page, "Not recorded yet")
	require.NotContains(t, page, "Predicted against read")
	require.Len(t, phasorsOf(page), 1)
	require.Contains(t, page, "<h3>As it should be</h3>")
	require.Contains(t, write(t, r.Markdown), "**As left**: not recorded yet")

	r = reportOf(t, sheet, record.Entry{Kind: record.Note, At: day, Remarks: []string{"no reading could be taken"}})
	page = write(t, r.HTML)
	require.Contains(t, page, "Not recorded.")
	require.NotContains(t, page, "<svg")
	_ = write(t, r.Markdown)
}

func TestAnOpenVerdictNamesTheTest(t *testing.T) {
	light := kiln(day, 75, 40, -75) // an odd mix, of which only V, I and P are read
	for k := range light.Channels {
		c := &light.Channels[k]
		c.Angle, c.VoltageAngle, c.Reactive = reading.Maybe[reading.Angle]{}, reading.Maybe[reading.Angle]{}, reading.Value{}
	}
	e := entry(t, record.AsFound, light)
	require.Equal(t, diagnose.Undecided, e.Verdict.Verdict)
	require.NotEmpty(t, e.Verdict.NextTests)
	r := reportOf(t, sheet, e)
	require.Contains(t, write(t, r.HTML), "The test that would settle most")
	require.Contains(t, write(t, r.Markdown), "\n1. ")
	require.NotContains(t, write(t, wholeJob(t).HTML), "The test that would settle most")
}

func TestAChangedRecordIsSaidFirst(t *testing.T) {
	r := wholeJob(t)
	r.Log.Findings = []string{"entry 2 was edited (line 2)"}
	page := write(t, r.HTML)
	require.Less(t, strings.Index(page, "entry 2 was edited"), strings.Index(page, "As found"))
	md := write(t, r.Markdown)
	require.Less(t, strings.Index(md, "entry 2 was edited"), strings.Index(md, "As found"))
	require.Contains(t, write(t, r.JSON), `"unbroken":false`)
}

func TestASheetThatWasChangedLater(t *testing.T) {
	e := entry(t, record.AsFound, kiln(day, 20, 25, 30))
	e.Sheet = &record.File{Name: "kiln.yaml", SHA256: record.Seal([]byte("then"))}
	r := reportOf(t, sheet, e)
	r.Sheet = record.Seal([]byte("now"))
	require.Contains(t, write(t, r.HTML), "the job sheet was changed after the last entry")
	r.Sheet = record.Seal([]byte("then"))
	require.NotContains(t, write(t, r.HTML), "the job sheet was changed after the last entry")
	require.Contains(t, write(t, r.Markdown), "- Service: 120/208Y\n")

	r.Job.Service = "347/600Y"
	require.Contains(t, write(t, r.Markdown), "- Service: 347/600Y by the job sheet; entry 1 was judged by 120/208Y\n")
	r.Sheet = record.Seal([]byte("now"))
	require.Contains(t, write(t, r.Markdown),
		"- Service: 347/600Y by the job sheet, which was changed since; entry 1 was judged by 120/208Y\n")
}

func TestWithoutAnglesOfTheVoltages(t *testing.T) {
	r := kiln(day, 20, 25, 30)
	for k := range r.Channels {
		r.Channels[k].VoltageAngle = reading.Maybe[reading.Angle]{}
	}
	page := write(t, reportOf(t, sheet, entry(t, record.AsFound, r)).HTML)
	require.Contains(t, page, "Each current is drawn against its own voltage V")
	require.NotContains(t, phasorsOf(page)[0], ">V2</text>")
}

// A meter whose Q is never negative: its angle wasn't judged, and is drawn as read.
func TestAnglesFromPAndQ(t *testing.T) {
	r := kiln(day, 20, 25, 30)
	for k := range r.Channels {
		r.Channels[k].Angle = reading.Maybe[reading.Angle]{}
	}
	e := entry(t, record.AsFound, r)
	require.False(t, e.Verdict.Channels[0].Angle.Known())
	page := write(t, reportOf(t, sheet, e).HTML)
	require.Contains(t, phasorsOf(page)[0], ">I1</text>")
	require.Contains(t, page, "from P and Q as read")

	for k := range r.Channels {
		r.Channels[k].Reactive = reading.Value{}
	}
	page = write(t, reportOf(t, sheet, entry(t, record.AsFound, r)).HTML)
	require.NotContains(t, phasorsOf(page)[0], ">I1</text>")
	require.Contains(t, page, "The angles of the currents are unknown")
}

// thousands is a job of ten thousand readings.
func thousands(t testing.TB) (string, *job.Job) {
	var readings []reading.Reading
	for i := range 5000 {
		wander := 3 * math.Sin(float64(i)/40)
		readings = append(readings, kiln(day.Add(time.Duration(i)*time.Second), 20+wander, -155+wander, 30-wander))
	}
	path := filepath.Join(t.TempDir(), "kiln.record.jsonl")
	for _, kind := range []record.Kind{record.AsFound, record.AsLeft} {
		_, err := record.At(path).Append(entry(t, kind, readings...))
		require.NoError(t, err)
	}
	j, err := job.Parse("kiln.yaml", []byte(sheet))
	require.NoError(t, err)
	return path, j
}

// BenchmarkReport reads and verifies the record of ten thousand readings and
// writes its page.
func BenchmarkReport(b *testing.B) {
	path, j := thousands(b)
	info, err := os.Stat(path)
	require.NoError(b, err)
	b.SetBytes(info.Size())
	for b.Loop() {
		log, err := record.At(path).Read()
		require.NoError(b, err)
		require.Empty(b, log.Findings)
		r := &Report{Job: j, Record: "kiln.record.jsonl", Log: log, Made: day}
		require.NoError(b, r.HTML(io.Discard))
	}
}

// Whatever an entry holds, a report can be made of it: law 1, no error and no
// panic; law 2, no tag that isn't the template's.
func FuzzReport(f *testing.F) {
	found := entry(f, record.AsFound, kiln(day, 20, -155, 30))
	left := entry(f, record.AsLeft, kiln(day, 21, 26, 29))
	left.Compared = asleft.New().Compare(found.Verdict, left.Verdict)
	for _, e := range append(measured(f), found, left, record.Entry{Kind: record.Note, Remarks: []string{"<b>"}}) {
		src, err := json.Marshal(e)
		require.NoError(f, err)
		f.Add(src)
	}
	j, err := job.Parse("kiln.yaml", []byte(sheet))
	require.NoError(f, err)
	f.Fuzz(func(t *testing.T, src []byte) {
		var e record.Entry
		if json.Unmarshal(src, &e) != nil {
			return
		}
		log := &record.Log{Entries: []record.Sealed{{Entry: e, Seal: record.Seal(src)}}}
		r := &Report{Job: j, Record: "k.record.jsonl", Log: log, Made: day}
		require.NoError(t, onlyOurTags(write(t, r.HTML)))
		_ = write(t, r.Markdown)
	})
}
