package link

import (
	"testing"
	"testing/synctest"

	"github.com/stretchr/testify/require"
)

// A gateway whose transaction numbers don't move on, or are invented, is told
// from one that is late: no time-out is long enough for it.
func TestWrongTransactionNumbersAreNotLateAnswers(t *testing.T) {
	for name, number := range map[string]byte{"stands still": 1, "invented": 0xEE} {
		t.Run(name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				c := newMeter(func(k *talker) {
					for request := k.next(); request != nil; request = k.next() {
						k.say(changed(1, number)(request))
					}
				}).link(t, Options{Timeout: short, Retries: 1})
				var err error
				for range 3 {
					_, err = c.Registers(t.Context(), sixRegisters)
				}
				require.ErrorContains(t, err, "the gateway numbers its answers wrongly")
				got := c.Counts()
				require.Zero(t, got.LateAnswers)
				require.Zero(t, got.Doubled)
				require.Zero(t, got.Silent())
				require.GreaterOrEqual(t, got.Misnumbered, uint64(4))
				require.Equal(t, got.Timeouts, got.Spoilt())
				require.NoError(t, c.Close())
			})
		})
	}
}

// An answer that comes once more is neither late nor wrongly numbered.
func TestDoubledAnswersOverTCP(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		c := newMeter(func(k *talker) {
			for request := k.next(); request != nil; request = k.next() {
				k.say(append(right(request), right(request)...))
			}
		}).link(t, Options{Timeout: short})
		for range 3 {
			_, err := c.Registers(t.Context(), sixRegisters)
			require.NoError(t, err)
		}
		got := c.Counts()
		require.EqualValues(t, 2, got.Doubled, "the last one is not seen yet")
		require.Zero(t, got.LateAnswers+got.Misnumbered)
		require.NoError(t, c.Close())
	})
}

// How tries ended adds up, and each is counted once.
func TestEachTryIsCountedOnce(t *testing.T) {
	c := Counts{Requests: 20, Answers: 9, Exceptions: 1, Timeouts: 8, LateAnswers: 3, Unusable: 1, BadAnswers: 2, BadChecks: 2, Silences: 7}
	require.EqualValues(t, 4, c.Silent())
	require.EqualValues(t, 3, c.Spoilt())
	require.Equal(t, c.Requests, c.Answers+c.Exceptions+c.LateAnswers+c.Silent()+c.Spoilt())
	require.Zero(t, Counts{LateAnswers: 3}.Silent(), "more came late than was given up")
}
