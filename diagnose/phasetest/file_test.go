package phasetest

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"legwork/diagnose/wiring"
)

// A worksheet as it is written says nothing; filled in it says what was read.
func TestAWorksheetIsReadBack(t *testing.T) {
	for _, b := range benches() {
		b.t.Proved = false
		blank := string(b.t.Sheet())
		got, readings, err := ParseSheet("w.yaml", []byte(blank))
		require.NoError(t, err, blank)
		require.Empty(t, readings)
		require.Equal(t, b.t, got)

		filled := strings.Replace(strings.Replace(blank, "proved-before:", "proved-before: true", 1), "proved-after:", "proved-after: true", 1)
		var want []Reading
		for _, r := range b.plan() {
			name, value := PairName(b.t.Service, r.Pair), b.t.shown(r)
			filled = strings.Replace(filled, "  "+name+":", "  "+name+": "+value, 1)
			rounded, err := b.t.ParseReading(name + " " + value)
			require.NoError(t, err)
			want = append(want, rounded)
		}
		got, readings, err = ParseSheet("w.yaml", []byte(filled))
		require.NoError(t, err, filled)
		require.True(t, got.Proved)
		require.Equal(t, want, readings, filled)
	}
}

func TestAWorksheetsFaults(t *testing.T) {
	head := "legwork-phasetest: 1\nservice: 120/208Y\n"
	for name, c := range map[string]struct{ src, want string }{
		"empty":             {"", "w.yaml:1:1: the file is empty"},
		"another file":      {"a: 1\n", `"a" is not known here`},
		"no version":        {"service: 120/208Y\n", "w.yaml:1:1: legwork-phasetest is missing"},
		"no service":        {"legwork-phasetest: 1\n", "service is missing"},
		"a blank service":   {"legwork-phasetest: 1\nservice:\n", "service is missing"},
		"a blank version":   {"legwork-phasetest:\nservice: 120\n", "legwork-phasetest is missing"},
		"another version":   {"legwork-phasetest: 2\nservice: 120\n", "w.yaml:1:20: 2 is out of range"},
		"unknown service":   {"legwork-phasetest: 1\nservice: 120/209Y\n", `w.yaml:2:10: "120/209Y" is not a service`},
		"method":            {head + "method: half\n", `"half" is not one of live, dead`},
		"high leg":          {head + "high-leg: B\n", "w.yaml:3:11: 120/208Y has no high leg"},
		"proved in words":   {head + "proved-before: yes\n", "write true or false"},
		"unknown pair":      {head + "readings:\n  A-4: 0 V\n", `w.yaml:4:3: "A-4": 120/208Y has no 4`},
		"no pair":           {head + "readings:\n  A1: 0 V\n", `w.yaml:4:3: "A1" is no pair of points; write it such as A-1`},
		"same pair":         {head + "readings:\n  A-1: 0 V\n  1-A: 0 V\n", `w.yaml:5:3: "1-A" is the same pair as "A-1"; write a pair that was read twice as a list`},
		"below zero":        {head + "readings:\n  A-1: -3\n", "w.yaml:4:8: -3 V is below zero"},
		"comma":             {head + "readings:\n  A-1: 1,208 V\n", "w.yaml:4:8: \"1,208 V\": the comma may group digits"},
		"one of a list":     {head + "readings:\n  A-1: [0 V, 2000 V]\n", "w.yaml:4:14: 2000 V is above 1000 V"},
		"a group":           {head + "readings:\n  A-1: {volts: 3}\n", "write a text"},
		"continuity alive":  {head + "readings:\n  A-1: closed\n", "closed is continuity"},
		"volts on the dead": {head + "method: dead\nreadings:\n  A-1: 0.3 V\n", "0.3 V is not closed or open"},
	} {
		_, _, err := ParseSheet("w.yaml", []byte(c.src))
		require.ErrorContains(t, err, c.want, name)
	}
	_, _, err := ParseSheet("w.yaml", []byte(head+"readings:\n  A-9: 0 V\n  B-1: -1\n"))
	require.Len(t, strings.Split(err.Error(), "\n"), 2, "every fault at once")
}

// A list is a pair that was read more than once; both count where they agree.
func TestAListInAWorksheet(t *testing.T) {
	test, readings, err := ParseSheet("w.yaml", []byte("legwork-phasetest: 1\nservice: 120\nproved-before: true\nproved-after: true\n"+
		"readings: {1-N: [120 V, 121], L1-1: [0.2, '0,3 V']}\n"))
	require.NoError(t, err)
	require.Equal(t, wiring.TwoWire, test.Service.Kind)
	require.Len(t, readings, 4)
	require.Equal(t, wiring.Agrees, test.Judge(readings).Verdict)
}
