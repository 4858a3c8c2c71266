package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"legwork/cmd/legwork/internal/record"
	"legwork/cmd/legwork/internal/source"
	"legwork/diagnose"
	"legwork/diagnose/asleft"
	"legwork/sim"
)

// bench is a job sheet of a simulated meter that is served while a test changes
// its wiring.
type bench struct {
	t      *testing.T
	served *source.Served

	sheet string
}

func newBench(t *testing.T, place, fault string) *bench {
	t.Helper()
	served, err := source.ServePlace(place, sim.Options{Fault: fault}, 0)
	require.NoError(t, err)
	t.Cleanup(func() { _ = served.Server.Close() })
	host, err := served.Server.ListenTCP("127.0.0.1:0")
	require.NoError(t, err)
	dir := t.TempDir()
	_, src := served.Place.Map()
	require.NoError(t, os.WriteFile(filepath.Join(dir, "meter.map.yaml"), src, 0o600))
	sheet := filepath.Join(dir, "job.yaml")
	text := fmt.Sprintf("legwork-job: 1\ngeneration: none\nsite: %s\npanel: Panel K2\nservice: %s\nmeter: tcp://%s/%d\nmap: "+
		"meter.map.yaml\ncts: {output: current, secondary: 5 A}\npeople: {technician: R. Quill}\n",
		served.Place.Title(), served.Place.Service(), host, served.Unit)
	require.NoError(t, os.WriteFile(sheet, []byte(text), 0o600))
	return &bench{t, served, sheet}
}

// run runs the command and gives its status and output.
func (b *bench) run(args ...string) (code int, stdout, stderr string) {
	var out, err bytes.Buffer
	code = run(args, strings.NewReader(""), &out, &err)
	return code, out.String(), err.String()
}

func (b *bench) want(code int, args ...string) string {
	b.t.Helper()
	got, out, err := b.run(args...)
	require.Equal(b.t, code, got, "%v\n%s%s", args, out, err)
	return out
}

func (b *bench) log() *record.Log {
	log, err := record.At(strings.TrimSuffix(b.sheet, ".yaml") + ".record.jsonl").Read()
	require.NoError(b.t, err)
	return log
}

// A whole job: two mistakes found, the moves made, the prediction met, the
// report written.
func TestAWholeJob(t *testing.T) {
	for place, fault := range map[string]string{
		"kiln-house": "ct2-reversed,ct1-ct3-crossed",
		"saw-shed":   "ct2-ct3-crossed,ct2-reversed",
		"dye-works":  "ct1-reversed,ct3-reversed",
	} {
		t.Run(place, func(t *testing.T) {
			b := newBench(t, place, fault)
			b.want(exitFault, "record", "as-found", b.sheet)
			b.want(exitAgrees, "record", "note", b.sheet, "--read", "import: 12345.6 kWh")
			b.want(exitAgrees, "record", "note", b.sheet, "--move", "As advised, everything dead")
			require.NoError(t, b.served.Place.SetFault(""))
			b.want(exitAgrees, "record", "as-left", b.sheet)

			log := b.log()
			require.Empty(t, log.Findings)
			require.Len(t, log.Entries, 4)
			found, left := log.Entries[0], log.Entries[3]
			require.Equal(t, diagnose.Fault, found.Verdict.Verdict)
			require.Equal(t, diagnose.Agrees, left.Verdict.Verdict)
			require.NotEmpty(t, left.Compared)
			for _, c := range left.Compared {
				require.Equal(t, asleft.Met, c.Outcome, "%+v", c)
			}
			require.Len(t, found.Readings, 1)
			require.Equal(t, record.Seal(mapOf(b)), found.Map.SHA256)
			require.Equal(t, "legwork", found.Meter.Vendor, "the device identification was asked for")

			report := filepath.Join(filepath.Dir(b.sheet), "report")
			for _, ending := range []string{".html", ".md", ".json"} {
				b.want(exitAgrees, "report", b.sheet, "-o", report+ending)
				text, err := os.ReadFile(report + ending)
				require.NoError(t, err)
				require.Contains(t, string(text), "As advised, everything dead")
				require.Contains(t, string(text), left.Seal)
			}
			b.want(exitAgrees, "record", "verify", b.sheet, "--seal", strings.ToUpper(left.Seal[:16]))
			b.want(exitFault, "record", "verify", b.sheet, "--seal", "0123456789abcdef")
		})
	}
}

// before is what a technician does until something is moved.
func (b *bench) before() {
	b.t.Helper()
	b.want(exitAgrees, "phasetest", "--keep", b.sheet, "--proved", "--reading", "1-N 120 V", "--reading", "A-1 0.2 V",
		"--reading", "B-1 208 V",
		"--reading", "C-1 208 V", "--reading", "2-N 120 V", "--reading", "A-2 208 V", "--reading", "B-2 0.1 V", "--reading",
		"C-2 207 V",
		"--reading", "3-N 121 V", "--reading", "A-3 208 V", "--reading", "B-3 209 V", "--reading", "C-3 0.2 V")
	b.want(exitFault, "record", "as-found", b.sheet)
	b.want(exitAgrees, "record", "note", b.sheet, "--read", "import: 12345.6 kWh")
	out := b.want(exitFault, "clamp", "--keep", b.sheet, "--interval", "1ms", "--reading", "leg 1: 87.2 A", "--reading",
		"leg 2: 97.7 A", "--reading", "leg 3: 91.9 A")
	require.Contains(b.t, out, "channel 3 reads what leg 1 carries")
}

// after is what follows once all is put right.
func (b *bench) after() {
	b.t.Helper()
	b.want(exitAgrees, "record", "as-left", b.sheet)
	b.want(exitAgrees, "clamp", "--keep", b.sheet, "--interval", "1ms", "--reading", "leg 1: 87.2 A", "--reading",
		"leg 2: 97.7 A")
	b.want(exitAgrees, "pulses", "--keep", b.sheet, "--interval", "1ms", "--constant", "1000 imp/kWh", "--count", "553",
		"--over", "1:00", "--same-time", "--tolerance", "4 %")
	b.want(exitAgrees, "record", "note", b.sheet, "--read", "import: 12345.7 kWh")
	out := b.want(exitAgrees, "ledger", "--keep", b.sheet)
	require.Contains(b.t, out, "12345.7")
	out = b.want(exitAgrees, "energy", "--keep", b.sheet, "--interval", "1ms", "--registered", "59.5 kWh")
	require.Contains(b.t, out, "Nothing to correct", "what the meter shows now is right")
	// The register ran backwards while the fault stood.
	b.want(exitAgrees, "energy", "--keep", b.sheet, "--as-found", "--before", "12 545.6 kWh", "--after", "12 345.6 kWh")
}

// proves holds that the whole job stands in the record, and in the report.
func (b *bench) proves(kinds ...record.Kind) {
	b.t.Helper()
	log := b.log()
	require.Empty(b.t, log.Findings)
	require.Empty(b.t, log.Remarks)
	var got []record.Kind
	for _, e := range log.Entries {
		got = append(got, e.Kind)
	}
	require.Equal(b.t, kinds, got)
	left := log.Last(record.AsLeft)
	for _, c := range left.Compared {
		require.Equal(b.t, asleft.Met, c.Outcome, "%+v", c)
	}
	energy := log.Entries[len(log.Entries)-1].Result.Energy
	require.InEpsilon(b.t, 200_000/0.659, energy.True.Best, 0.02, "two thirds of it the other way")

	file := filepath.Join(filepath.Dir(b.sheet), "report")
	for _, ending := range []string{".html", ".md", ".json"} {
		b.want(exitAgrees, "report", b.sheet, "-o", file+ending)
	}
	page, err := os.ReadFile(file + ".html")
	require.NoError(b.t, err)
	for _, heading := range []string{"Phase test", "Clamp beside meter", "Pulse light beside power", "Register reads",
		"Energy"} {
		require.Contains(b.t, string(page), ">"+heading+"</h2>")
	}
	b.want(exitAgrees, "record", "verify", b.sheet, "--seal", log.LastSeal())
}

// Everything that a technician does at a job stands in one record.
func TestAWholeJobInOneRecord(t *testing.T) {
	b := newBench(t, "kiln-house", "ct2-reversed,ct1-ct3-crossed")
	b.before()
	require.NoError(t, b.served.Place.SetFault("ct2-reversed"))
	b.want(exitAgrees, "record", "note", b.sheet, "--move", "Exchanged the lead pairs of CTs 1 and 3")
	require.NoError(t, b.served.Place.SetFault(""))
	b.want(exitAgrees, "record", "note", b.sheet, "--move", "Turned CT 2 round")
	b.after()
	b.proves(record.OfPhaseTest, record.AsFound, record.Note, record.OfClamp, record.Note, record.Note, record.AsLeft,
		record.OfClamp, record.OfPulses, record.Note, record.OfLedger, record.OfEnergy, record.OfEnergy)
	log := b.log()
	require.Equal(t, []string{"input 1 to input 2: line", "input 1 to input 3: line", "input 2 to input 3: line"},
		log.Entries[1].Seen,
		"the phase test is weighed with the readings as found")
	require.Empty(t, log.Entries[6].Seen, "and speaks of other wiring once something was moved")
	clamped := log.Entries[3]
	require.Len(t, clamped.Readings, 5)
	require.Equal(t, "TKH-0417", clamped.Meter.Serial)
	require.Equal(t, []record.Typed{{Flag: "interval", Text: "1ms"}, {Flag: "reading", Text: "leg 1: 87.2 A"},
		{Flag: "reading", Text: "leg 2: 97.7 A"},
		{Flag: "reading", Text: "leg 3: 91.9 A"}}, clamped.Typed)
}

func mapOf(b *bench) []byte {
	_, src := b.served.Place.Map()
	return src
}

// The readings of an entry are a capture, and say the same again.
func TestReadingsOfAnEntryCanBeReplayed(t *testing.T) {
	b := newBench(t, "kiln-house", "ct2-reversed")
	b.want(exitFault, "record", "as-found", b.sheet, "--samples", "5", "--interval", "1ms")
	e := b.log().Entries[0]
	require.Len(t, e.Readings, 5)
	var capture bytes.Buffer
	for _, r := range e.Readings {
		fmt.Fprintf(&capture, "%s\n", r)
	}
	var out, errs bytes.Buffer
	require.Equal(t, exitFault, run([]string{"diagnose", "-", "--generation", "none", "--format", "json"}, &capture, &out, &errs), errs.String())
	var again diagnose.Result
	require.NoError(t, json.Unmarshal(out.Bytes(), &again))
	require.Equal(t, e.Verdict.Summary, again.Summary)
	require.Equal(t, e.Verdict.Channels, again.Channels)
}

// Moves that weren't made, or the wrong ones, are told.
func TestAPredictionThatIsMissed(t *testing.T) {
	b := newBench(t, "kiln-house", "ct2-reversed")
	b.want(exitFault, "record", "as-found", b.sheet)
	out := b.want(exitFault, "record", "as-left", b.sheet)
	require.Contains(t, out, "not as predicted")
	compared := b.log().Entries[1].Compared
	require.Equal(t, []asleft.Outcome{asleft.Met, asleft.Missed, asleft.Met},
		[]asleft.Outcome{compared[0].Outcome, compared[1].Outcome, compared[2].Outcome})
}

// A test from before a move speaks of wiring that is no more.
func TestTestsHoldUntilSomethingIsMoved(t *testing.T) {
	b := newBench(t, "cottage-bakery", "ct1-ct2-crossed")
	sheet, err := os.ReadFile(b.sheet)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(b.sheet, append(sheet, "seen: ['ct 1 on leg 2']\n"...), 0o600))
	b.want(exitAgrees, "record", "note", b.sheet, "--test", "ct 2 on leg 1")
	b.want(exitFault, "record", "as-found", b.sheet)
	b.want(exitAgrees, "record", "note", b.sheet, "--move", "Exchanged the lead pairs of CTs 1 and 2")
	b.want(exitAgrees, "record", "note", b.sheet, "--test", "ct 1 on leg 1")
	require.NoError(t, b.served.Place.SetFault(""))
	b.want(exitAgrees, "record", "as-left", b.sheet)
	b.want(exitAgrees, "diagnose", b.sheet)
	log := b.log()
	require.Equal(t, []string{"ct 1 on leg 2", "ct 2 on leg 1"}, log.Entries[1].Seen)
	require.Equal(t, []string{"ct 1 on leg 1"}, log.Entries[4].Seen)
}

func TestAnotherMeterIsTold(t *testing.T) {
	b := newBench(t, "kiln-house", "ct2-reversed")
	b.want(exitFault, "record", "as-found", b.sheet)
	other := newBench(t, "saw-shed", "")
	sheet, err := os.ReadFile(other.sheet)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(b.sheet, sheet, 0o600))
	require.NoError(t, os.WriteFile(filepath.Join(filepath.Dir(b.sheet), "meter.map.yaml"), mapOf(other), 0o600))
	_, _, errs := b.run("record", "as-left", b.sheet)
	require.Contains(t, errs, `another meter answered: serial "", where entry 1 has "TKH-0417"`)
	require.Contains(t, errs, "the register map is another one than that of entry 1")
}

// A meter that describes itself needs no file; the record tells its points.
func TestAJobOfASunSpecMeter(t *testing.T) {
	served, err := source.ServePlace("kiln-house", sim.Options{Fault: "ct2-reversed"}, 213)
	require.NoError(t, err)
	t.Cleanup(func() { _ = served.Server.Close() })
	host, err := served.Server.ListenTCP("127.0.0.1:0")
	require.NoError(t, err)
	b := &bench{t: t, served: served, sheet: filepath.Join(t.TempDir(), "job.yaml")}
	text := fmt.Sprintf("legwork-job: 1\ngeneration: none\nservice: 120/208Y\nmeter: tcp://%s/%d\nmap: sunspec\n", host, served.Unit)
	require.NoError(t, os.WriteFile(b.sheet, []byte(text), 0o600))
	b.want(exitAgrees, "job", "check", b.sheet)
	b.want(exitFault, "record", "as-found", b.sheet)
	m := b.log().Entries[0].Map
	require.Equal(t, "sunspec", m.Name)
	require.Len(t, m.SHA256, 64)
}
