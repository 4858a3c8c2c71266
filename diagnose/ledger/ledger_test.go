package ledger

import (
	"encoding/json"
	"errors"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"legwork/diagnose/wiring"
	"legwork/probe/reading"
	"legwork/probe/sheet"
)

func head(lines ...string) []byte {
	return []byte("legwork-ledger: 1\n" + strings.Join(lines, "\n") + "\n")
}

func parse(t testing.TB, lines ...string) *Ledger {
	l, err := ParseYAML("reads.yaml", head(lines...))
	require.NoError(t, err)
	return l
}

func energyOf(r Result, register string) []float64 {
	var all []float64
	for _, d := range r.Differences {
		if d.Register == register && d.Energy.Known() {
			all = append(all, d.Energy.Or(0))
		}
	}
	return all
}

func TestDifferences(t *testing.T) {
	for name, c := range map[string]struct {
		lines   []string
		kwh     []float64
		verdict wiring.Verdict
		says    string
	}{
		"with a multiplier": {[]string{"multiplier: 40", "reads:", "  - {at: 2026-05-04, kWh: 100.5}",
			"  - {at: 2026-06-04, kWh: 110.7}"},
			[]float64{408}, wiring.Agrees, ""},
		"rolled over once": {[]string{"digits: 5", "reads:", "  - {at: 2026-05-04, kWh: 99950}",
			"  - {at: 2026-06-04, kWh: 00123}"},
			[]float64{173}, wiring.Agrees, "rolled over at 100000"},
		"lower, and the dial isn't known": {[]string{"reads:", "  - {at: 2026-05-04, kWh: 9950}",
			"  - {at: 2026-06-04, kWh: 123}"},
			nil, wiring.Undecided, "say `digits`"},
		"lower in the middle of the dial": {[]string{"digits: 5", "reads:", "  - {at: 2026-05-04, kWh: 50000}",
			"  - {at: 2026-06-04, kWh: 49000}"},
			nil, wiring.Undecided, "ran backwards by that, rolled over by 99000"},
		"a meter replaced": {[]string{"reads:", "  - {at: 2026-05-04, kWh: 900}", "  - {at: 2026-05-14, kWh: 950}",
			"  - {at: 2026-05-14, kWh: 3, replaced: true}", "  - {at: 2026-06-04, kWh: 53}"},
			[]float64{50, 50}, wiring.Agrees, "nothing is missing"},
		"a meter replaced later": {[]string{"reads:", "  - {at: 2026-05-04, kWh: 900}", "  - {at: 2026-05-14, kWh: 950}",
			"  - {at: 2026-05-16, kWh: 3, replaced: true, multiplier: 2}", "  - {at: 2026-06-04, kWh: 53}"},
			[]float64{50, 100}, wiring.Agrees, "what flowed in the 48h0m0s"},
		"units and commas": {[]string{"reads:", `  - {at: 2026-05-04, kWh: "12 345,6 kWh"}`,
			`  - {at: 2026-06-04, kWh: "12,445.6"}`},
			[]float64{100}, wiring.Agrees, ""},
		"a register that shows MWh": {[]string{"unit: MWh", "multiplier: 2", "reads:", "  - {at: 2026-05-04, kWh: 12.34 MWh}",
			"  - {at: 2026-06-04, kWh: 12.44}"},
			[]float64{200}, wiring.Agrees, `"unit":"MWh","before":12.34`},
		"more than there is time for": {[]string{"reads:", "  - {at: 2026-05-04T09:30:00Z, kWh: 0}",
			`  - {at: "2026-05-04T09:30:00.055Z", kWh: 12000000}`},
			nil, wiring.Undecided, "12 GWh in 55 ms would be a mean of 785 TW, beyond any low-voltage service"},
		"a step at once": {[]string{"reads:", "  - {at: 2026-05-04T09:30:00Z, kWh: 100}",
			`  - {at: "2026-05-04T09:30:00.055Z", kWh: 101}`},
			[]float64{1}, wiring.Agrees, ""},
		"a read that is struck": {[]string{"reads:", "  - {at: 2026-05-04, kWh: 100}",
			"  - {at: 2026-05-14, kWh: 1100, struck: misread}",
			"  - {at: 2026-06-04, kWh: 120}"},
			[]float64{20}, wiring.Agrees, "the read of line 4 is struck: misread"},
		"a register that one read lacks": {[]string{"reads:", "  - {at: 2026-05-04, kWh: 10, kVAh: 20}",
			"  - {at: 2026-05-14, kVAh: 30}", "  - {at: 2026-06-04, kWh: 20, kVAh: 40}"},
			[]float64{10}, wiring.Agrees, ""},
	} {
		r := parse(t, c.lines...).Judge(nil)
		require.InDeltaSlice(t, c.kwh, energyOf(r, "kWh"), 1e-9, name)
		require.Equal(t, c.verdict, r.Verdict, "%s: %s", name, r.Summary)
		b, err := json.Marshal(r)
		require.NoError(t, err)
		require.Contains(t, string(b), c.says, name)
	}
}

func TestPhasesAgainstTotal(t *testing.T) {
	good := parse(t, "multiplier: 40", "reads:", "  - {at: 2026-05-04, kWh: 100.0, kWh.1: 10.0, kWh.2: 20.0, kWh.3: 30.0}",
		"  - {at: 2026-06-04, kWh: 130.1, kWh.1: 20.0, kWh.2: 30.0, kWh.3: 40.0}").Judge(nil)
	require.Equal(t, wiring.Agrees, good.Verdict, good.Summary)
	require.InDelta(t, 16, good.Checks[0].Within, 1e-9, "four registers, one step of 0.1 times 40 each")
	bad := parse(t, "multiplier: 40", "reads:", "  - {at: 2026-05-04, kWh: 100.0, kWh.1: 10.0, kWh.2: 20.0, kWh.3: 30.0}",
		"  - {at: 2026-06-04, kWh: 110.0, kWh.1: 20.0, kWh.2: 30.0, kWh.3: 40.0}").Judge(nil)
	require.Equal(t, wiring.Fault, bad.Verdict)
	require.Contains(t, bad.Summary, "kWh.1 + kWh.2 + kWh.3 against kWh: 1200, not 400")
	require.Contains(t, bad.Checks[0].Note, "a CT or voltage input may be wired wrong")
}

// A phase that one read lacks is no reason to call the others wrong.
func TestPhaseThatWasNotRead(t *testing.T) {
	r := parse(t, "reads:", "  - {at: 2026-05-04, kWh: 100, kWh.1: 10, kWh.2: 20, kWh.3: 30}",
		"  - {at: 2026-05-05, kWh: 130, kWh.1: 20, kWh.2: 30}",
		"  - {at: 2026-05-06, kWh: 160, kWh.1: 30, kWh.2: 40, kWh.3: 50}").Judge(nil)
	require.Equal(t, wiring.Agrees, r.Verdict, r.Summary)
	require.Empty(t, r.Checks)
}

func TestApparentEnergy(t *testing.T) {
	r := parse(t, "reads:", "  - {at: 2026-05-04, kWh: 100.0, kVAh: 100.0}",
		"  - {at: 2026-06-04, kWh: 180.0, kVAh: 200.0}").Judge(nil)
	require.Equal(t, wiring.Agrees, r.Verdict)
	require.Contains(t, r.Checks[0].Note, "mean power factor 0.800")
	r = parse(t, "reads:", "  - {at: 2026-05-04, kWh: 100.0, kVAh: 100.0}",
		"  - {at: 2026-06-04, kWh: 280.0, kVAh: 200.0}").Judge(nil)
	require.Equal(t, wiring.Fault, r.Verdict)
	require.Contains(t, r.Checks[0].Note, "which can't be")
}

// A dial that another span would have taken right round is told.
func TestWholeTurnsAreTold(t *testing.T) {
	r := parse(t, "digits: 3", "reads:", "  - {at: 2026-05-01, kWh: 0}", "  - {at: 2026-05-02, kWh: 500}",
		"  - {at: 2026-05-09, kWh: 600}").Judge(nil)
	require.Contains(t, r.Differences[1].Note, "could have gone right round")
	require.Empty(t, r.Differences[0].Note)
}

// capture of a steady power over some time.
func capture(g *Integral, watts float64, from time.Time, minutes int) {
	for i := range minutes + 1 {
		g.Add(reading.Reading{At: from.Add(time.Duration(i) * time.Minute),
			Channels: []reading.Channel{{Power: reading.Known(watts / 2)}, {Power: reading.Known(watts / 2)}}})
	}
}

func TestAgainstACapture(t *testing.T) {
	start := time.Date(2026, 5, 4, 9, 0, 0, 0, time.UTC)
	lines := []string{"reads:", "  - {at: 2026-05-04T09:00:00Z, kWh: 100.0, kWh.1: 50.0}",
		"  - {at: 2026-05-04T11:00:00Z, kWh: 120.0, kWh.1: 60.0}"}
	for name, c := range map[string]struct {
		watts    float64
		minutes  int
		verdict  wiring.Verdict
		coverage float64
		note     string
	}{
		"covered":          {10_000, 120, wiring.Agrees, 1, ""},
		"longer":           {10_000, 300, wiring.Agrees, 1, ""},
		"another power":    {11_000, 120, wiring.Fault, 1, "is off"},
		"half covered":     {10_000, 60, wiring.Undecided, 0.5, "covers 50 % of this time"},
		"nearly covered":   {10_000, 117, wiring.Agrees, 0.975, "covers 97.5 % of this time"},
		"one reading only": {10_000, 0, wiring.Undecided, 0, "covers none"},
	} {
		l := parse(t, lines...)
		g := l.Integral(0)
		capture(g, c.watts, start.Add(-0), c.minutes)
		r := l.Judge(g)
		require.Equal(t, c.verdict, r.Verdict, "%s: %s", name, r.Summary)
		require.Len(t, r.Checks, 2, name)
		for _, check := range r.Checks {
			require.InDelta(t, c.coverage, check.Coverage.Or(-1), 1e-9, name)
			require.Contains(t, check.Note, c.note, name)
		}
	}
}

// Readings further apart than the gap cover nothing between; a straight change is
// integrated exactly, and reads cut a step of the capture in two.
func TestIntegral(t *testing.T) {
	start := time.Date(2026, 5, 4, 9, 0, 0, 0, time.UTC)
	l := parse(t, "reads:", "  - {at: 2026-05-04T09:00:30Z, kWh: 1}", "  - {at: 2026-05-04T09:01:00Z, kWh: 2}",
		"  - {at: 2026-05-04T10:00:00Z, kWh: 3}")
	g := l.Integral(2 * time.Minute)
	for _, s := range []struct{ at, watts float64 }{{0, 0}, {60, 6000}, {120, 6000}, {1200, 6000}, {1260, 6000}} {
		g.Add(reading.Reading{At: start.Add(time.Duration(s.at) * time.Second), TotalPower: reading.Known(s.watts)})
	}
	kwh, coverage := g.over(l.Entries[0].At, l.Entries[1].At, 0)
	require.InDelta(t, 4.5*30/3600, kwh, 1e-12, "from 3 to 6 kW in 30 s")
	require.InDelta(t, 1, coverage, 1e-12)
	kwh, coverage = g.over(l.Entries[1].At, l.Entries[2].At, 0)
	require.InDelta(t, 6*120/3600.0, kwh, 1e-12)
	require.InDelta(t, 120/3540.0, coverage, 1e-12)
}

func TestFilesThatAreRefused(t *testing.T) {
	read := "  - {at: 2026-05-04T09:00:00Z, kWh: 1}"
	for name, c := range map[string]struct {
		lines []string
		want  string
	}{
		"out of order": {[]string{"reads:", "  - {at: 2026-05-05, kWh: 1}", "  - {at: 2026-05-04, kWh: 2}"},
			"reads.yaml:4:5: its time is before that of line 3; put the reads in order of time"},
		"twice the same time": {[]string{"reads:", "  - {at: 2026-05-05, kWh: 1}", "  - {at: 2026-05-05, kWh: 2}"},
			"its time is that of line 3"},
		"negative": {[]string{"reads:", read, "  - {at: 2026-05-06T09:00:00Z, kWh: -2}"}, "below zero"},
		"ambiguous comma": {[]string{"reads:", read, `  - {at: 2026-05-06T09:00:00Z, kWh: "1,234"}`},
			"the comma may group digits"},
		"another quantity": {[]string{"reads:", read, `  - {at: 2026-05-06T09:00:00Z, kWh: 12 kVAh}`},
			"kVAh goes into a register of its own"},
		"another unit": {[]string{"reads:", read, `  - {at: 2026-05-06T09:00:00Z, kWh: 12 MWh}`},
			"\"12 MWh\" is in MWh, and this register is in kWh; write what the register shows, in kWh, or where it shows MWh"},
		"another unit in between": {[]string{"reads:", read, `  - {at: 2026-05-06T09:00:00Z, kWh: 12, unit: MWh}`},
			"the unit of the registers changes between reads of one meter"},
		"a unit of nothing": {[]string{"unit: kW", "reads:", read}, "is not a unit of a register"},
		"no number": {[]string{"reads:", read, `  - {at: 2026-05-06T09:00:00Z, kWh: lots}`},
			"is not a value in kWh"},
		"beyond its dial": {[]string{"digits: 3", "reads:", read, "  - {at: 2026-05-06T09:00:00Z, kWh: 1000}"},
			"more than the 3 digits"},
		"no time":           {[]string{"reads:", read, "  - {kWh: 2}"}, "the read has no time"},
		"a bad time":        {[]string{"reads:", read, "  - {at: 4 May, kWh: 2}"}, `"4 May" is not a time`},
		"a date that isn't": {[]string{"reads:", read, "  - {at: 2026-02-30, kWh: 2}"}, "is not a time"},
		"zones mixed":       {[]string{"reads:", read, "  - {at: 2026-05-06 09:00, kWh: 2}"}, "some times have a zone"},
		"one read":          {[]string{"reads:", read}, "a difference needs two"},
		"no reads":          {[]string{"meter: x"}, "there are no reads"},
		"no figure":         {[]string{"reads:", read, "  - {at: 2026-05-06T09:00:00Z}"}, "no figure"},
		"unknown register":  {[]string{"reads:", read, "  - {at: 2026-05-06T09:00:00Z, kwh: 2}"}, "did you mean"},
		"first replaced": {[]string{"reads:", "  - {at: 2026-05-04, kWh: 1, replaced: true}",
			"  - {at: 2026-05-05, kWh: 1}"}, "the first read can't be"},
		"multiplier changes": {[]string{"reads:", read, "  - {at: 2026-05-06T09:00:00Z, kWh: 2, multiplier: 40}"},
			"write `replaced: true`"},
		"multiplier of nothing":  {[]string{"multiplier: 0", "reads:", read}, "is not a multiplier"},
		"a multiplier as a text": {[]string{"multiplier: forty", "reads:", read}, "is not a multiplier"},
		"digits of none":         {[]string{"digits: 0", "reads:", read}, "is not a number of digits"},
		"another version":        {nil, "out of range"},
	} {
		src := head(c.lines...)
		if name == "another version" {
			src = []byte("legwork-ledger: 2\n")
		}
		_, err := ParseYAML("reads.yaml", src)
		var faults *sheet.Faults
		require.True(t, errors.As(err, &faults), name)
		require.Contains(t, err.Error(), c.want, name)
		require.True(t, strings.HasPrefix(err.Error(), "reads.yaml:"), name)
	}
}

func TestTables(t *testing.T) {
	l, err := ParseCSV("reads.csv", []byte("\ufeffat,kWh,kWh.1,multiplier,replaced\n2026-05-04 09:30,\"12 "+
		"345.6\",,40,\n2026-05-05 09:30,12350.6,7,,no\n2026-05-05 09:30,1,2,40,TRUE\n2026-05-06 09:30,\"3,5\",4,,\n"))
	require.NoError(t, err)
	r := l.Judge(nil)
	require.InDeltaSlice(t, []float64{200, 100}, energyOf(r, "kWh"), 1e-9)
	require.InDeltaSlice(t, []float64{80}, energyOf(r, "kWh.1"), 1e-9)
	require.Equal(t, wiring.Agrees, r.Verdict)
	require.Contains(t, r.Notes[0], "have no zone")
}

func TestTablesThatAreRefused(t *testing.T) {
	for name, c := range map[string]struct{ src, want string }{
		"empty":            {"", "reads.csv:1:1: the file is empty"},
		"semicolons":       {"at;kWh\n", "parted by semicolons"},
		"unknown column":   {"at,kwh\n", `"kwh" is not known here; did you mean kWh?`},
		"twice":            {"at,kWh,kWh\n", "stands twice"},
		"no register":      {"at,multiplier\n", "lacks `at` or a register"},
		"too few fields":   {"at,kWh\n2026-05-04\n", "1 fields, but the header has 2 columns"},
		"a stray quote":    {"at,kWh\n2026-05-04,\"1\n", "not CSV here"},
		"out of order":     {"at,kWh\n2026-05-05,1\n2026-05-04,2\n", "reads.csv:3:1: its time is before that of line 2"},
		"negative":         {"at,kWh\n2026-05-05,1\n2026-05-06,-2\n", "reads.csv:3:12: "},
		"a bad truth":      {"at,kWh,replaced\n2026-05-05,1,\n2026-05-06,2,maybe\n", "is not true or false"},
		"no reads":         {"at,kWh\n", "there are no reads"},
		"one read":         {"at,kWh\n2026-05-05,1\n", "a difference needs two"},
		"no time":          {"at,kWh\n,1\n2026-05-06,2\n", "the read has no time"},
		"beyond what's it": {"at,kWh\n" + strings.Repeat("x", sheet.MostBytes), "at most"},
	} {
		_, err := ParseCSV("reads.csv", []byte(c.src))
		require.ErrorContains(t, err, c.want, name)
	}
}

func TestResultAsJSON(t *testing.T) {
	r := parse(t, "reads:", "  - {at: 2026-05-04, kWh: 9950}", "  - {at: 2026-06-04, kWh: 123}").Judge(nil)
	b, err := json.Marshal(r)
	require.NoError(t, err)
	require.True(t, strings.HasPrefix(string(b), `{"legwork":1,`))
	require.Contains(t, string(b), `"energy":null`)
	var back Result
	require.NoError(t, json.Unmarshal(b, &back))
	require.Equal(t, r, back)
}

func FuzzLedger(f *testing.F) {
	f.Add([]byte("legwork-ledger: 1\ndigits: 5\nreads:\n  - {at: 2026-05-04, kWh: 99950}\n  - {at: 2026-06-04, kWh: " +
		"123, replaced: true}\n"))
	f.Add([]byte("at,kWh,kVAh.2,digits\n2026-05-04,\"1,5\",3,4\n2026-05-05 10:00,2,9 MVAh,\n"))
	f.Fuzz(func(t *testing.T, src []byte) {
		for name, of := range map[string]func(string, []byte) (*Ledger, error){"f.yaml": ParseYAML, "f.csv": ParseCSV} {
			l, err := of(name, src)
			if err != nil { // law 1: every fault has a place
				require.True(t, strings.HasPrefix(err.Error(), name+":"), err.Error())
				continue
			}
			r := l.Judge(l.Integral(0)) // law 2: what opens can be judged
			_, err = json.Marshal(r)
			require.NoError(t, err)
			for _, d := range r.Differences { // law 3: no made-up energy
				require.Equal(t, d.Kind == Backwards, !d.Energy.Known())
				require.GreaterOrEqual(t, d.Energy.Or(0), 0.0)
			}
		}
	})
}
