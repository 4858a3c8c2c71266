package survey

import (
	"bytes"
	"context"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"legwork/cmd/legwork/internal/fleet"
	"legwork/cmd/legwork/internal/round"
	"legwork/cmd/legwork/internal/sites"
	"legwork/diagnose"
	"legwork/probe/reading"
)

// yard serves some meters and gives their list and truth.
func yard(t testing.TB, o fleet.Options) (*sites.List, map[string]fleet.Truth) {
	f, err := fleet.Serve(o)
	require.NoError(t, err)
	t.Cleanup(func() { _ = f.Close() })
	dir := t.TempDir()
	for name, src := range f.Maps {
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), src, 0o600))
	}
	file := filepath.Join(dir, "sites.csv")
	require.NoError(t, os.WriteFile(file, f.Sites(), 0o600))
	l, err := sites.Load(file)
	require.NoError(t, err)
	truth := map[string]fleet.Truth{}
	for line := range bytes.Lines(f.Truth()) {
		var one fleet.Truth
		require.NoError(t, json.Unmarshal(line, &one))
		truth[one.Name] = one
	}
	return l, truth
}

// Every status is right or undecided, whatever the gateways are like, and no
// meter is missing.
func TestYardIsJudgedRight(t *testing.T) {
	l, truth := yard(t, fleet.Options{Meters: 160, Wires: 8, Seed: 11})
	r := Run(t.Context(), l, Options{Timeout: 250 * time.Millisecond})
	require.True(t, r.Complete)
	require.Len(t, r.Meters, 160)
	require.Equal(t, 160, r.Counts.Agrees+r.Counts.Fault+r.Counts.Undecided+r.Counts.Unreadable)
	require.Greater(t, r.Counts.Fault, 10)
	for _, m := range r.Meters {
		x := truth[m.Name]
		require.Equal(t, !x.Answers, m.Status == Unreadable, "%s: %s", m.Name, m.Summary)
		if m.Status == Fault || m.Status == Agrees {
			require.Equal(t, x.Fault != "", m.Status == Fault, "%s: %s (%s)", m.Name, m.Summary, x.Fault)
		}
		require.Equal(t, m.Lost.Known(), m.Low.Known() && m.High.Known())
		require.LessOrEqual(t, m.Low.Or(0), m.High.Or(0))
	}
	for i := 1; i < len(r.Meters); i++ {
		require.GreaterOrEqual(t, r.Meters[i-1].Lost.Or(-1e12), r.Meters[i].Lost.Or(-1e12))
	}
	require.Len(t, r.Sites, 8)
	require.Len(t, r.Balances, 8)
}

// An interrupted survey gives what is known, and says so.
func TestInterrupted(t *testing.T) {
	l, _ := yard(t, fleet.Options{Meters: 60, Wires: 3, Seed: 2})
	ctx, stop := context.WithCancel(t.Context())
	var n atomic.Int32
	r := Run(ctx, l, Options{AtOnce: 1, Progress: func(done, all int) {
		require.Equal(t, 60, all)
		if n.Add(1) == 7 {
			stop()
		}
	}})
	require.False(t, r.Complete)
	require.GreaterOrEqual(t, len(r.Meters), 7)
	require.Less(t, len(r.Meters), 20)
	require.Zero(t, r.Counts.Unreadable, "what wasn't asked isn't called unreadable")
	require.Equal(t, 60, r.Listed)
}

func verdict(words string, p, registration float64, powers ...float64) *diagnose.Result {
	r := &diagnose.Result{Verdict: diagnose.Fault, Summary: words}
	for i, w := range powers {
		r.Channels = append(r.Channels, diagnose.ChannelJudged{Channel: i + 1, Power: reading.Known(w)})
	}
	r.Explanations = []diagnose.Explanation{{Probability: p, Words: words, Registration: reading.Known(registration),
		RegistrationLow: reading.Known(registration - 0.01), RegistrationHigh: reading.Known(registration + 0.01)}}
	return r
}

func TestLoss(t *testing.T) {
	// A third is registered: 1 kW of 3 kW; 2 kW are lost.
	l := LossOf(verdict("CT 2 is reversed", 0.99, 1./3, 1000, 1000, -1000))
	require.InDelta(t, 2000, l.Best.Or(0), 1e-9)
	require.InDelta(t, 1970, l.Low.Or(0), 1e-9)
	require.InDelta(t, 2030, l.High.Or(0), 1e-9)

	// All reversed: what is registered is below zero, and twice the power is lost.
	require.InDelta(t, 6000, LossOf(verdict("all reversed", 0.99, -1, -3000)).Best.Or(0), 1e-9)

	// Nothing registers: only what is expected after the move tells the power.
	nothing := verdict("rolled", 0.99, 0, 10, -10)
	require.False(t, LossOf(nothing).Best.Known())
	nothing.Explanations[0].Expect = []diagnose.ChannelAfter{{Power: reading.Known(900.0)}, {Power: reading.Known(1100.0)}}
	require.InDelta(t, 2000, LossOf(nothing).Best.Or(0), 1e-9)

	// The second explanation widens the interval; without its registration
	// nothing is known.
	two := verdict("crossed", 0.92, 0.5, 1000)
	two.Explanations = append(two.Explanations, verdict("", 0.05, 0.8, 1000).Explanations[0])
	l = LossOf(two)
	require.InDelta(t, 1000, l.Best.Or(0), 1e-9)
	require.Less(t, l.Low.Or(0), 250.0)
	two.Explanations[1].Registration = reading.Value{}
	require.False(t, LossOf(two).Best.Known())

	open := verdict("x", 0.6, 0.5, 1000)
	open.Verdict = diagnose.Undecided
	require.Equal(t, Loss{}, LossOf(open))
	require.Equal(t, Loss{}, LossOf(&diagnose.Result{Verdict: diagnose.Agrees}))
}

// suites make a list of one main and some meters below it.
func suites(n int) *sites.List {
	l := &sites.List{Sites: []*sites.Site{{Name: "house"}}}
	for i := range n {
		l.Sites = append(l.Sites, &sites.Site{Name: fmt.Sprintf("suite-%d", i+1), Under: "house"})
	}
	return l
}

func judged(name string, status Status, power, lost float64) Meter {
	m := Meter{Name: name, Status: status, Power: reading.Known(power)}
	if status != Undecided {
		m.Lost, m.Low, m.High = reading.Known(lost), reading.Known(lost-20), reading.Known(lost+20)
	}
	return m
}

func TestBalances(t *testing.T) {
	for name, c := range map[string]struct {
		meters    []Meter
		opens     bool
		explained bool
		words     string
	}{
		"agree": {[]Meter{judged("house", Agrees, 9000, 0), judged("suite-1", Agrees, 4000, 0), judged("suite-2", Agrees,
			5010, 0)},
			false, false, "agree within"},
		"explained": {[]Meter{judged("house", Agrees, 8300, 0), judged("suite-1", Fault, 1050, 2150), judged("suite-2",
			Agrees, 5000, 0)},
			true, true, "The main reads 2.25 kW more than the sum. suite-1 registers 0.33 of its power: that is 2.15 kW of it. " +
				"The verdicts explain the difference."},
		"main at fault": {[]Meter{judged("house", Fault, 3000, 6000), judged("suite-1", Agrees, 4000, 0), judged("suite-2",
			Agrees, 5000, 0)},
			true, true, "The main reads 6.00 kW less than the sum. house registers 0.33 of its power: that is 6.00 kW of it."},
		"open circuit": {[]Meter{judged("house", Agrees, 12000, 0), judged("suite-1", Agrees, 4000, 0), judged("suite-2",
			Agrees, 5000, 0)},
			true, false, "The main reads 3.00 kW more than the sum. The verdicts don't explain it. " +
				"Look for a circuit without a meter"},
		"fed from elsewhere": {[]Meter{judged("house", Agrees, 6000, 0), judged("suite-1", Agrees, 4000, 0), judged("suite-2",
			Agrees, 5000, 0)},
			true, false, "or a meter that is fed from elsewhere"},
		"undecided below": {[]Meter{judged("house", Agrees, 12000, 0), judged("suite-1", Undecided, 1000, 0),
			judged("suite-2", Fault, 5000, 1000)},
			true, false, "suite-2 registers 0.83 of its power: that is 1.00 kW of it. The rest may come from suite-1"},
	} {
		t.Run(name, func(t *testing.T) {
			b := balances(c.meters, suites(2))
			require.Len(t, b, 1)
			require.Equal(t, c.opens, b[0].Opens)
			require.Equal(t, c.opens, b[0].Explained != nil)
			if c.opens {
				require.Equal(t, c.explained, *b[0].Explained)
			}
			require.Contains(t, b[0].Summary, c.words)
			require.InDelta(t, b[0].Power.Or(0)-b[0].Sum.Or(0), b[0].Difference.Or(0), 1e-9)
			require.Less(t, b[0].Low.Or(0), b[0].High.Or(0))
		})
	}
}

// Without the power of one meter there is no sum, and no number is made up.
func TestNoBalanceWithoutAMeter(t *testing.T) {
	b := balances([]Meter{judged("house", Agrees, 9000, 0), judged("suite-1", Agrees, 4000, 0), {Name: "suite-2",
		Status: Unreadable}}, suites(2))
	require.False(t, b[0].Sum.Known() || b[0].Difference.Known())
	require.Equal(t, []string{"suite-2"}, b[0].Missing)
	require.Contains(t, b[0].Summary, "No sum: 1 of 3 meters gave no power (suite-2).")
}

// Readings that lie apart make the interval wider; so do loads that come and go.
func TestBalanceKnowsTime(t *testing.T) {
	at := time.Date(2026, 5, 4, 9, 30, 0, 0, time.UTC)
	width := func(apart time.Duration, spread float64) float64 {
		m := []Meter{judged("house", Agrees, 9000, 0), judged("suite-1", Agrees, 4000, 0), judged("suite-2", Agrees, 5000, 0)}
		for i := range m {
			m[i].at, m[i].spread, m[i].taken = at.Add(time.Duration(i)*apart), spread, 5
		}
		b := balances(m, suites(2))[0]
		return b.High.Or(0) - b.Low.Or(0)
	}
	require.Greater(t, width(30*time.Second, 0), 1.5*width(0, 0))
	require.Greater(t, width(time.Second, 2000), 5*width(time.Second, 10))
}

func TestCompare(t *testing.T) {
	fault := func(words string) Meter {
		return Meter{Status: Fault, Summary: words,
			Verdict: &diagnose.Result{Explanations: []diagnose.Explanation{{Words: words}}}}
	}
	named := func(name string, m Meter) Meter { m.Name = name; return m }
	earlier := &Result{Meters: []Meter{named("a", fault("CT 1 is reversed")), {Name: "b", Status: Agrees}, named("c",
		fault("x")), {Name: "d", Status: Agrees},
		{Name: "e", Status: Agrees}, {Name: "f", Status: Agrees}, named("g", fault("same")), {Name: "i", Status: Unreadable}}}
	now := &Result{Meters: []Meter{{Name: "a", Status: Agrees}, named("b", fault("CT 2 is reversed")), named("c",
		fault("y")), {Name: "d", Status: Unreadable},
		named("g", fault("same")), named("h", fault("new meter")), {Name: "i", Status: Unreadable}}}
	a := Compare(now, earlier, func(name string) bool { return name != "e" })
	names := func(all []Change) (out []string) {
		for _, c := range all {
			out = append(out, c.Name)
		}
		return out
	}
	require.Equal(t, []string{"b", "h"}, names(a.New))
	require.Equal(t, []string{"c"}, names(a.Other))
	require.Equal(t, []string{"a"}, names(a.Mended))
	require.Equal(t, []string{"d"}, names(a.Silent))
	require.Equal(t, []string{"e"}, names(a.Gone), "f is listed and there was no time for it")
}

func TestParseResult(t *testing.T) {
	r := &Result{At: time.Date(2026, 5, 4, 9, 30, 0, 0, time.UTC), Meters: []Meter{judged("a", Fault, 100, 30)}}
	r.Meters[0].Verdict = verdict("CT 1 is reversed", 0.99, 0.5, 100)
	Finish(r, nil)
	src, err := json.Marshal(r)
	require.NoError(t, err)
	back, err := ParseResult("e.json", src)
	require.NoError(t, err)
	require.Equal(t, r, back)
	for _, bad := range []string{"", "{", "[]", "{}", `{"legwork":2,"meters":[]}`, `{"legwork":1}`} {
		_, err := ParseResult("e.json", []byte(bad))
		require.ErrorContains(t, err, "e.json: this is no result of")
	}
}

// No cell is one that a spreadsheet would run.
func TestCSVIsSafe(t *testing.T) {
	r := &Result{Meters: []Meter{
		{Name: "=HYPERLINK(\"http://x\")", Site: " +1", Status: Fault, Summary: "@SUM(A1)", Lost: reading.Known(-12.34)},
		{Name: "-2", Site: "a\tb\r\nc", Status: Agrees, Summary: "＝1+1"},
	}}
	var b bytes.Buffer
	require.NoError(t, CSV(&b, r))
	rows, err := csv.NewReader(&b).ReadAll()
	require.NoError(t, err)
	require.Equal(t, []string{"'=HYPERLINK(\"http://x\")", "' +1", "fault", "-12.3", "", "", "", "'@SUM(A1)"}, rows[1])
	require.Equal(t, []string{"'-2", "a b  c", "agrees", "", "", "", "", "'＝1+1"}, rows[2])
}

func FuzzSafeCell(f *testing.F) {
	f.Add("=1")
	f.Add(" \u00a0@x")
	f.Fuzz(func(t *testing.T, s string) {
		s = safe(s)
		require.NotContains(t, s, "\n")
		if t0 := strings.TrimLeft(s, " \u00a0"); t0 != "" {
			require.NotContains(t, "=+-@", t0[:1]) // law: no text begins as a formula does
		}
	})
}

// The survey's rate over that of bare exchanges with the same requests, with
// a gateway among them that takes 40 ms to answer.
func BenchmarkOverBareExchanges(b *testing.B) {
	l, _ := yard(b, fleet.Options{Meters: 60, Wires: 3, Seed: 1})
	bare := func() {
		w := l.Wires()
		done := make(chan bool)
		for _, one := range w {
			go func() {
				asked := round.New(round.Options{Maps: l.Maps, Timeout: 100 * time.Millisecond})
				defer asked.Close()
				for _, s := range one.Sites {
					_, _ = asked.Read(b.Context(), s)
				}
				done <- true
			}()
		}
		for range w {
			<-done
		}
	}
	var plain, full time.Duration
	for b.Loop() {
		begun := time.Now()
		bare()
		plain += time.Since(begun)
		begun = time.Now()
		Run(b.Context(), l, Options{Timeout: 100 * time.Millisecond})
		full += time.Since(begun)
	}
	b.ReportMetric(plain.Seconds()/full.Seconds(), "of-bare")
}
