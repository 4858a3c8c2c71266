package ledger

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"legwork/diagnose/wiring"
)

var morning = time.Date(2026, 5, 4, 9, 30, 0, 0, time.UTC)

func TestReadsThatWereNotedElsewhere(t *testing.T) {
	l, left := FromNoted("Tidewater kiln house", []Noted{
		{morning, "import", "12 345.6 kWh", 1},
		{morning, "kWh.2", "1.5 MWh", 1},
		{morning, "import 3", "77 kVAh", 1},
		{morning.Add(time.Hour), "", "12355.6 kWh", 4},
		{morning.Add(time.Hour), "KWH.2", "1.502 MWh", 4},
		{morning.Add(2 * time.Hour), "total", "12358.1 kWh", 6},
	})
	require.Empty(t, left)
	require.Len(t, l.Entries, 3, "reads of one time are one visit")
	require.Len(t, l.Entries[0].Figures, 3)
	r := l.Judge(nil)
	require.Equal(t, wiring.Agrees, r.Verdict, r.Summary)
	require.Equal(t, []string{"kWh", "kWh.2", "kWh"},
		[]string{r.Differences[0].Register, r.Differences[1].Register, r.Differences[2].Register})
	require.Equal(t, []float64{10, 2, 2.5}, []float64{r.Differences[0].Energy.Or(0), r.Differences[1].Energy.Or(0),
		r.Differences[2].Energy.Or(0)})
}

func TestNotedReadsThatAreLeftOut(t *testing.T) {
	for name, c := range map[string]struct {
		second Noted
		says   string
	}{
		"another direction": {Noted{morning, "export", "3 kWh", 2},
			`"export 3 kWh" is no register of energy that flows in`},
		"no energy":        {Noted{morning, "", "208 V", 2}, `"208 V" is no register`},
		"a fourth channel": {Noted{morning, "kWh.4", "3 kWh", 2}, "is no register"},
		"a clock that was set": {Noted{morning.Add(-time.Hour), "", "12346 kWh", 2},
			`"12346 kWh" of 2 has an earlier time than that of 1`},
		"the same twice":        {Noted{morning, "total", "12346 kWh", 2}, "kWh is read twice at one time"},
		"a register below zero": {Noted{morning.Add(1), "", "-3 kWh", 2}, "below zero"},
		"another unit": {Noted{morning.Add(time.Hour), "total", "12.4 MWh", 2},
			`"12.4 MWh" of 2 is in MWh, and 1 has the register in kWh`},
		"a figure that is no one": {Noted{morning.Add(1), "", "1,234 kWh", 2}, "comma"},
	} {
		t.Run(name, func(t *testing.T) {
			l, left := FromNoted("", []Noted{{morning, "import", "12345 kWh", 1}, c.second})
			require.Len(t, left, 1)
			require.Contains(t, left[0], c.says)
			require.Contains(t, left[0], "left out")
			require.Equal(t, wiring.Undecided, l.Judge(nil).Verdict, "one read makes no difference")
		})
	}
}

// Whatever was noted, a ledger of it can be judged: law 1, no panic; law 2, a
// read counts or is named.
func FuzzFromNoted(f *testing.F) {
	f.Add("import", "12 345.6 kWh", "kWh.2", "1.5 MWh")
	f.Add("", "-1 kWh", "export", "\xff VAh")
	f.Fuzz(func(t *testing.T, name, value, name2, value2 string) {
		l, left := FromNoted("", []Noted{{morning, name, value, 1}, {morning.Add(time.Hour), name2, value2, 2}})
		n := 0
		for _, e := range l.Entries {
			n += len(e.Figures)
		}
		require.Equal(t, 2, n+len(left))
		_ = l.Judge(nil)
	})
}
