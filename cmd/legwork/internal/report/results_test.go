package report

import (
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"legwork/cmd/legwork/internal/record"
	"legwork/diagnose/clamp"
	"legwork/diagnose/energy"
	"legwork/diagnose/ledger"
	"legwork/diagnose/phasetest"
	"legwork/diagnose/pulses"
	"legwork/diagnose/wiring"
	"legwork/probe/reading"
)

// measured is an entry of every command that measures, each as its own package
// makes the result: of a panel whose voltage taps 1 and 2 are exchanged.
func measured(t testing.TB) []record.Entry {
	t.Helper()
	service, err := wiring.ParseService("120/240")
	require.NoError(t, err)
	test := phasetest.Test{Service: service, Proved: true, Wires: [3]string{"black", "red", ""}}
	var read []phasetest.Reading
	for _, text := range []string{"1-N 120 V", "L1-1 240 V", "L2-1 0.1 V", "2-N 121 V", "L1-2 0.2 V", "L2-2 239 V"} {
		r, err := test.ParseReading(text)
		require.NoError(t, err)
		read = append(read, r)
	}
	phases := test.Judge(read)
	require.Equal(t, wiring.Fault, phases.Verdict)

	reads, err := clamp.ParseReads([]string{"leg 1: 40.0 A", "leg 2: 120.4 V"})
	require.NoError(t, err)
	accuracy, err := clamp.ParseAccuracy("2 % + 5 digits")
	require.NoError(t, err)
	sample := reading.Reading{At: day, Channels: []reading.Channel{{Current: reading.Known(20.0)},
		{Voltage: reading.Known(120.3)}}}
	clamped := clamp.Compare([]reading.Reading{sample, sample}, reads,
		clamp.Options{Accuracy: accuracy, VoltAccuracy: accuracy, Set: clamp.Rating{Primary: 200, Secondary: 5}})

	constant, err := pulses.ParseConstant("1000 imp/kWh")
	require.NoError(t, err)
	counted, err := pulses.Compare(pulses.Count{N: 100, Over: time.Minute}, pulses.Stated(6000, 0.01),
		pulses.Options{Constant: constant})
	require.NoError(t, err)

	l, err := ledger.ParseYAML("reads.yaml", []byte("legwork-ledger: 1\nmultiplier: 40\ndigits: 5\nreads:\n"+
		"  - {at: 2026-05-04T09:00:00Z, kWh: 99999.5, kWh.1: 10.0, kWh.2: 20.0}\n  - {at: 2026-05-04T11:00:00Z, kWh: 0.5, "+
		"kWh.1: 10.3, kWh.2: 20.3}\n"+
		"  - {at: 2026-05-04T12:00:00Z, replaced: true, kWh: 0}\n"))
	require.NoError(t, err)
	moved := l.Judge(nil)

	peak, err := energy.ParsePeriod("peak: 400 kWh at 0.60")
	require.NoError(t, err)
	rest, err := energy.ParsePeriod("rest: 600 kWh at 0.20")
	require.NoError(t, err)
	estimate, err := energy.Estimate(energy.Question{Registered: 1e6,
		Registration: &energy.Registration{Best: 0.5, Low: 0.4, High: 0.6}, Basis: energy.FromPerson,
		Words: "a registration that was given", Conditions: "as given", Periods: []energy.Period{peak, rest}})
	require.NoError(t, err)

	amps := 8.0
	step := record.LoadStep{Legwork: 1, Leg: 1, Outcome: "elsewhere", Channels: []int{2}, Current: &amps,
		Says: "Channel 2 took it", Seen: []string{"leg 1 on: channel 2 up"}}
	entries := []record.Entry{
		{Kind: record.OfPhaseTest, Result: &record.Result{PhaseTest: &phases}, Tests: phases.Findings},
		{Kind: record.OfLoadStep, Result: &record.Result{LoadStep: &step}, Tests: step.Seen},
		{Kind: record.OfClamp, Result: &record.Result{Clamp: &clamped},
			Typed: []record.Typed{{Flag: "reading", Text: "leg 1: 40.0 A"}, {Flag: "proved", Text: "true"}}},
		{Kind: record.OfPulses, Result: &record.Result{Pulses: &counted}},
		{Kind: record.OfLedger, Result: &record.Result{Ledger: &moved},
			Files: []record.File{{Name: "reads.yaml", SHA256: record.Seal(nil)}}},
		{Kind: record.OfEnergy, Result: &record.Result{Energy: &estimate}},
	}
	for i := range entries {
		entries[i].At = day.Add(time.Duration(i) * time.Minute)
	}
	return entries
}

func TestMeasurementsAsTheyStand(t *testing.T) {
	md := write(t, reportOf(t, sheet, measured(t)...).Markdown)
	got := md[strings.Index(md, "## Phase test"):strings.Index(md, "## Installation")]
	matches(t, "measured.md", got)
}

func TestThePageOfMeasurements(t *testing.T) {
	page := write(t, reportOf(t, sheet, measured(t)...).HTML)
	require.NoError(t, onlyOurTags(page))
	require.NotContains(t, page, "<th>", "every head of a table says what it heads")
	captions := regexp.MustCompile(`<caption>([^<]*)</caption>`).FindAllStringSubmatch(page, -1)
	require.Len(t, captions, strings.Count(page, "<table>"))
	seen := map[string]bool{}
	for _, c := range captions {
		require.False(t, seen[c[1]], "two tables are called %q", c[1])
		seen[c[1]] = true
	}
	for _, want := range []string{`<h2 id="h-phase-test">Phase test</h2>`, "Exchange the leads at voltage inputs 1 and 2",
		`<h2 id="h-clamp">`, "0.500", `<h2 id="h-pulses">`,
		`<h2 id="h-ledger">`, "rolled over at 100000", "the meter was replaced", `<h2 id="h-energy">`, "Only authorised parties may adjust bills",
		"a registration that was given", "240.00 (160 to 360)",
		"<dd>reading leg 1: 40.0 A; proved</dd>", "reads.yaml, SHA-256 e3b0c442"} {
		require.Contains(t, page, want)
	}
	phase := page[strings.Index(page, `id="h-phase-test"`):]
	require.Less(t, strings.Index(phase, "Before anything is touched"), strings.Index(phase, "Exchange the leads"),
		"cautions stand before the first step")
}

func TestWhatPeopleTypeIntoMeasurementsStaysText(t *testing.T) {
	for _, text := range hostile {
		all := measured(t)
		p, l, e := all[0].Result.PhaseTest, all[4].Result.Ledger, all[5].Result.Energy
		p.Service, p.Summary, p.Moves, p.Notes = text, text, []string{text}, []string{text}
		p.CTs[0].Colour, p.Readings[0].Why = &text, text
		l.Meter, l.Differences[0].Note, l.Checks[0].What, l.Gaps[0].Note = text, text, text, text
		e.Words, e.Conditions, e.Periods[0].Name = text, text, text
		for i := range all {
			all[i].Typed, all[i].Files = []record.Typed{{Flag: text, Text: text}}, []record.File{{Name: text, SHA256: text}}
		}
		r := reportOf(t, sheet, all...)
		page := write(t, r.HTML)
		require.NoError(t, onlyOurTags(page), text)
		md := write(t, r.Markdown)
		for _, out := range []string{page, md} {
			require.False(t, strings.ContainsAny(out, "\x1b\a\u202e"), "%q", text)
		}
		require.NotContains(t, md, "<script>")
		require.NotContains(t, md, "\n# heading")
	}
}
