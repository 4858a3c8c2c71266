package record

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestParseRead(t *testing.T) {
	for text, want := range map[string]Read{
		"12345.6 kWh":            {Name: "", Value: 12345600, Unit: "Wh"},
		"import: 12 345.6 kWh":   {Name: "import", Value: 12345600, Unit: "Wh"},
		"  tariff 2: L1: 3 MWh ": {Name: "tariff 2: L1", Value: 3e6, Unit: "Wh"},
		"208 V":                  {Value: 208, Unit: "V"},
		"0,2 A":                  {Value: 0.2, Unit: "A"},
		"1.5 kVA":                {Value: 1500, Unit: "VA"},
		"7 kvarh":                {Value: 7000, Unit: "varh"},
		"3 kvar":                 {Value: 3000, Unit: "var"},
		"-4 kW":                  {Value: -4000, Unit: "W"},
		"59.98 Hz":               {Value: 59.98, Unit: "Hz"},
		"30 deg":                 {Value: 30, Unit: "deg"},
	} {
		got, err := ParseRead(text)
		require.NoError(t, err, text)
		want.Text = strings.TrimSpace(text)
		require.InDelta(t, want.Value, got.Value, 1e-6, text)
		got.Value, want.Value = 0, 0
		require.Equal(t, want, got)
	}
	for text, want := range map[string]string{
		"":             "write a value with its unit",
		"12345.6":      "write a value with its unit",
		"import: ":     "write a value with its unit",
		"12 bananas":   "is no unit here",
		"12,345 kWh":   "comma",
		"kWh":          "is not a value",
		"import 5 kWh": "not a number",
		"1e5 kWh":      "not a number",
	} {
		_, err := ParseRead(text)
		require.ErrorContains(t, err, want, text)
	}
}

// What is noted now and is probably a slip is refused: it would stay in the record.
func TestReadsThatAreSlips(t *testing.T) {
	for text, want := range map[string]string{
		"-5 kWh":            "a register counts from 0 up",
		"import: -0.1 MWh":  "a register counts from 0 up",
		"imprt: 5 kWh":      "did you mean import?",
		"import 7: 5 kWh":   "did you mean import 1?",
		"Exort: 5 kWh":      "did you mean export?",
		"channel 7: 5 kWh":  "say which register of the channel it is: import 1",
		"9 kW":              "that is power, and a register shows energy",
		"import: 9 kW":      "that is power",
		"total import: 1 W": "that is power",
		"12 bananas":        "is no unit here",
	} {
		_, err := NewRead(text)
		require.ErrorContains(t, err, want, text)
		require.ErrorContains(t, err, text)
	}
	for _, text := range []string{"12345.6 kWh", "import: 5 kWh", "Total Import: 5 kWh", "export.2: 5 kWh", "kWh.3: 1 MWh",
		"kVAh: 3 kVAh", "tariff 2: L1: 3 MWh", "T1: 5 kWh", "main meter: 5 kWh", "power: -4 kW", "208 V", "import: 5 kvarh"} {
		_, err := NewRead(text)
		require.NoError(t, err, text)
	}
}

func FuzzParseRead(f *testing.F) {
	f.Add("import: 12 345.6 kWh")
	f.Add("1,000 A")
	f.Fuzz(func(t *testing.T, text string) {
		r, err := ParseRead(text)
		if err != nil {
			return
		}
		require.False(t, math.IsNaN(r.Value) || math.IsInf(r.Value, 0), "law 1: a value is finite")
		require.Contains(t, readUnits, r.Unit, "law 2: and has a unit")
		require.True(t, strings.HasSuffix(r.Text, r.Unit), "law 3: that was written")
	})
}
