package record

import (
	"encoding/json"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"legwork/diagnose/clamp"
	"legwork/diagnose/energy"
	"legwork/diagnose/ledger"
	"legwork/diagnose/phasetest"
	"legwork/diagnose/pulses"
	"legwork/diagnose/wiring"
	"legwork/probe/reading"
)

// results are one of every kind, each as its own package makes it.
func results(t *testing.T) map[Kind]Result {
	t.Helper()
	service, err := wiring.ParseService("120/240")
	require.NoError(t, err)
	test := phasetest.Test{Service: service, Proved: true}
	first, err := test.ParseReading("L1-1 0.2 V")
	require.NoError(t, err)
	phases := test.Judge([]phasetest.Reading{first})

	reads, err := clamp.ParseReads([]string{"leg 1: 40.0 A"})
	require.NoError(t, err)
	accuracy, err := clamp.ParseAccuracy("2 % + 5 digits")
	require.NoError(t, err)
	sample := reading.Reading{At: day, Channels: []reading.Channel{{Current: reading.Known(40.1)}},
		CTPrimary: reading.Known(200.0)}
	clamped := clamp.Compare([]reading.Reading{sample}, reads, clamp.Options{Accuracy: accuracy, VoltAccuracy: accuracy})

	constant, err := pulses.ParseConstant("1000 imp/kWh")
	require.NoError(t, err)
	counted, err := pulses.Compare(pulses.Count{N: 100, Over: time.Minute}, pulses.Stated(6000, 0.01),
		pulses.Options{Constant: constant})
	require.NoError(t, err)

	l, _ := ledger.FromNoted("", []ledger.Noted{{At: day, Value: "1 kWh", Line: 1},
		{At: day.Add(time.Hour), Value: "3 kWh", Line: 2}})
	moved := l.Judge(nil)

	half := energy.Exactly(0.5)
	estimate, err := energy.Estimate(energy.Question{Registered: 1e6, Registration: &half, Basis: energy.FromPerson})
	require.NoError(t, err)

	amps := 8.0
	step := LoadStep{Legwork: 1, Leg: 1, Outcome: "elsewhere", Channels: []int{2}, Current: &amps,
		Says: "Channel 2 took it", Seen: []string{"leg 1 on: channel 2 up"}}
	return map[Kind]Result{OfPhaseTest: {PhaseTest: &phases}, OfClamp: {Clamp: &clamped}, OfPulses: {Pulses: &counted},
		OfLedger: {Ledger: &moved}, OfEnergy: {Energy: &estimate}, OfLoadStep: {LoadStep: &step}}
}

func TestResultsComeBackAsTheyWere(t *testing.T) {
	path := filepath.Join(t.TempDir(), "kiln.record.jsonl")
	all := results(t)
	for kind, r := range all {
		_, err := At(path).Append(Entry{Kind: kind, At: day, Result: &r, Typed: []Typed{{"reading", "leg 1: 40.0 A"}},
			Files: []File{{Name: "reads.yaml", SHA256: Seal(nil)}}})
		require.NoError(t, err)
	}
	log, err := At(path).Read()
	require.NoError(t, err)
	require.Empty(t, log.Findings)
	require.Len(t, log.Entries, len(all))
	for _, e := range log.Entries {
		was, err := json.Marshal(all[e.Kind])
		require.NoError(t, err)
		is, err := json.Marshal(e.Result)
		require.NoError(t, err)
		require.JSONEq(t, string(was), string(is), e.Kind)
		require.Equal(t, []Typed{{"reading", "leg 1: 40.0 A"}}, e.Typed)
	}
}

func TestEveryResultHasItsSentence(t *testing.T) {
	words := map[Kind]string{OfPhaseTest: "undecided", OfClamp: "agrees", OfPulses: "agrees", OfLedger: "not compared",
		OfEnergy: "estimate", OfLoadStep: "fault"}
	for kind, r := range results(t) {
		word, sentence := r.Sentence()
		require.Equal(t, words[kind], word, kind)
		require.Regexp(t, `^[A-Z0-9].*\.$`, sentence, kind)
	}
	var none *Result
	word, _ := none.Sentence()
	require.Empty(t, word)
	word, _ = (&Result{}).Sentence()
	require.Empty(t, word)
}

// What an older legwork wrote lacks the newer lists, and is no worse for it.
func TestEntriesOfAnOlderLegwork(t *testing.T) {
	path := filepath.Join(t.TempDir(), "kiln.record.jsonl")
	older := `{"legwork-record":1,"number":1,"previous":null,"kind":"note","at":"2026-05-04T09:30:00Z",` +
		`"tests":["ct 2 arrow wrong"]}`
	require.NoError(t, writeHead(path, head{Version, 1, Seal([]byte(older))}))
	require.NoError(t, os.WriteFile(path, []byte(older+"\n"), 0o600))
	_, err := At(path).Append(note("more"))
	require.NoError(t, err)
	log, err := At(path).Read()
	require.NoError(t, err)
	require.Empty(t, log.Findings)
	tests, _ := log.TestsSinceMove()
	require.Equal(t, []string{"ct 2 arrow wrong"}, tests)
}
