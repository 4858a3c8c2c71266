package main

import (
	"bytes"
	"errors"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"legwork/cmd/legwork/internal/screen"
	"legwork/probe/link"
	"legwork/probe/seek"
)

// What was heard instead of a meter leads to what to check.
func TestWhatIsToldWhenNothingIsFound(t *testing.T) {
	heard := func(c link.Counts, err error) []seek.Heard {
		return []seek.Heard{{Way: "9600 baud, no parity", Counts: c, Err: err}}
	}
	tests := []struct {
		name   string
		result seek.Result
		want   string
	}{
		{"silence", seek.Result{Asked: 28}, `COM5: no meter answered 28 questions.
  Not one byte came. Check in this order: the meter's power; A and B exchanged; the common
  conductor; that these terminals are the meter's Modbus port; a unit not asked (--units 1-247).
`},
		{"garbage", seek.Result{Asked: 28, Heard: heard(link.Counts{BytesReceived: 12, NoiseBytes: 12}, nil)},
			`COM5: no meter answered 28 questions.
  9600 baud, no parity: 12 bytes that are no answer
  Something is alive on the line. Garbled at every setting: A and B exchanged, two meters with
  the same unit, another master talking, or no bias and termination on the line.
`},
		{"an echo", seek.Result{Asked: 28, Heard: heard(link.Counts{BytesReceived: 8, Echoes: 1}, nil)},
			`COM5: no meter answered 28 questions.
  9600 baud, no parity: only the adapter's own echo
  Something is alive on the line. The adapter hears itself but no meter: check the
  meter's power, A and B, and the unit (--units 1-247).
`},
		{"late answers", seek.Result{Asked: 28, Heard: heard(link.Counts{BytesReceived: 7, LateAnswers: 1}, nil)},
			`COM5: no meter answered 28 questions.
  9600 baud, no parity: answers that came too late
  Something is alive on the line. The meter is slow: try --timeout 1s.
`},
		{"another unit", seek.Result{Asked: 28, Heard: heard(link.Counts{BytesReceived: 7, ForeignFrames: 1},
			link.OtherUnit{Asked: 1, Got: 9})}, `COM5: no meter answered 28 questions.
  9600 baud, no parity: unit 9 answered though another was asked
  Something is alive on the line. At the setting where another unit answered, speed and parity are
  right: ask for that unit (--units 9), and see that no other master is on the line.
`},
		{"a port that can't be opened", seek.Result{Error: errors.New("rtu COM5: there is no such port")},
			"rtu COM5: there is no such port\n"},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			var out bytes.Buffer
			screen.NotFound(&out, "COM5", test.result)
			require.Equal(t, test.want, out.String())
		})
	}
}

func TestUnitsAsTheyAreWritten(t *testing.T) {
	for text, want := range map[string][]byte{"1-3": {1, 2, 3}, "1,5,17": {1, 5, 17}, "2, 1-3": {2, 1, 3}, "255": {255},
		"247": {247}} {
		got, err := parseUnits(text)
		require.NoError(t, err, text)
		require.Equal(t, want, got, text)
	}
	for _, text := range []string{"", "0", "248", "1-248", "3-1", "a", "1-", "-3", "1,,2", "1-2-3", "1.5"} {
		_, err := parseUnits(text)
		require.ErrorContains(t, err, "write units from 1 to 247", text)
	}
}

func TestTimesAreToldRoundly(t *testing.T) {
	require.Equal(t, "8s", roundly(7800*time.Millisecond))
	require.Equal(t, "17m20s", roundly(17*time.Minute+22*time.Second))
	require.Equal(t, "17m", roundly(17*time.Minute+2*time.Second))
}
