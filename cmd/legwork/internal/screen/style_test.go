package screen

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// What is left over of a sum is 0, and a time is in the unit that suits it.
func TestNumbersAsPeopleWriteThem(t *testing.T) {
	require.Equal(t, "0", Digits(-2.7306e-16, 5))
	require.Equal(t, "-0.025", Digits(-0.025, 5))
	require.Equal(t, "12345.6", Digits(12345.6, 10))
	for want, d := range map[string]time.Duration{"0.12 s": 120 * time.Millisecond, "45 s": 45 * time.Second,
		"2.5 min": 150 * time.Second, "49.5 h": 49*time.Hour + 30*time.Minute, "0 s": 0} {
		require.Equal(t, want, Elapsed(d))
	}
}
