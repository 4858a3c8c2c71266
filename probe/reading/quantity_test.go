package reading

import (
	"testing"

	"github.com/stretchr/testify/require"
)

func TestParseQuantityAsPeopleWriteIt(t *testing.T) {
	for text, want := range map[string]float64{
		"208 V": 208, "0,2V": 0.2, " 208": 208, "1.21 kV": 1210, "350 mV": 0.350, "-3 V": -3, "−3 V": -3,
		"12 345,6 V": 12345.6, "1,234,567 V": 1234567, "1,234.5 V": 1234.5, "1.234,5 V": 1234.5, "1'204 V": 1204, "0,208 kV": 208,
	} {
		got, err := ParseQuantity(text, "V")
		require.NoError(t, err, text)
		require.InDelta(t, want, got, 1e-9, text)
	}
}

func TestParseQuantityRefusesWhatItCantBeSureOf(t *testing.T) {
	for text, want := range map[string]string{
		"": "is not a value in V", "V": "is not a value in V", "12 A": "is in A, where V is wanted", "1,203 V": "the comma may group digits",
		"1.2.3 V": "not a number", "0x10": "not a number", "1e3": "not a number", "1,2,3.4,5": "not a number",
	} {
		_, err := ParseQuantity(text, "V")
		require.ErrorContains(t, err, want, text)
	}
}

func FuzzParseQuantity(f *testing.F) {
	f.Add("208 V")
	f.Add("1.234,5 kV")
	f.Fuzz(func(t *testing.T, text string) {
		x, err := ParseQuantity(text, "V")
		if err == nil {
			require.False(t, x-x != 0, "law 1: what is accepted is finite")
		}
	})
}
