package link

import (
	"context"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/require"
)

// late serves every request rightly, each the given time after it came.
func late(after ...time.Duration) func(*talker) {
	return func(k *talker) {
		for i := 0; ; i++ {
			request := k.next()
			if request == nil {
				return
			}
			if i < len(after) {
				time.AfterFunc(after[i], func() { k.say(right(request)) })
				continue
			}
			k.say(right(request))
		}
	}
}

// The answer to the first try comes while the second one is waited for; its
// values differ, so that taking it would show.
func TestRetryNeverTakesTheEarlierAnswer(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		m := newMeter(func(k *talker) {
			first := k.next()
			second := k.next()
			stale := right(first)
			stale[10] = 0xEE
			time.Sleep(50 * time.Millisecond)
			k.say(stale)
			k.say(right(second))
			honest(k)
		})
		c := m.link(t, Options{Timeout: short, Retries: 1})

		words, err := c.Registers(t.Context(), sixRegisters)
		require.NoError(t, err)
		require.Equal(t, []uint16{0, 1, 2, 3, 4, 5}, words)

		got := c.Counts()
		require.Equal(t, patience+50*time.Millisecond, got.Slowest, "what the late answer took is told")
		require.Equal(t, Counts{Requests: 2, Retries: 1, Timeouts: 1, LateAnswers: 1, Silences: 1, Answers: 1,
			BytesSent: 24, BytesReceived: 42, Slowest: got.Slowest}, got)
		require.NoError(t, c.Close())
	})
}

// An answer is waited for at least as long as was asked for and at most an
// eighth longer, whenever the requests before it were.
func TestTimeoutIsKept(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		m := newMeter(func(k *talker) {
			for i := 0; ; i++ {
				if request := k.next(); request == nil {
					return
				} else if i%10 != 9 {
					k.say(right(request))
				}
			}
		})
		c := m.link(t, Options{Timeout: short, Retries: 1})
		for i := range 200 {
			before := c.Counts().Timeouts
			begin := time.Now()
			_, err := c.Registers(t.Context(), sixRegisters)
			require.NoError(t, err)
			if c.Counts().Timeouts > before {
				require.GreaterOrEqual(t, time.Since(begin), short)
				require.LessOrEqual(t, time.Since(begin), patience)
			}
			time.Sleep(time.Duration(i) * time.Millisecond) // the bubble's time
		}
		require.EqualValues(t, 22, c.Counts().Timeouts)
		require.NoError(t, c.Close())
	})
}

// Each answer comes after its own request's timeout; the library, left alone,
// would stay one transaction behind for good.
func TestLateAnswersDoNotShiftLaterOnes(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		m := newMeter(late(patience+30*time.Millisecond, patience+30*time.Millisecond, 100*time.Millisecond))
		c := m.link(t, Options{Timeout: short, Retries: 2})
		for address := uint16(100); address < 500; address += 100 {
			words, err := c.Registers(t.Context(), Read{1, ReadHolding, address, 1})
			require.NoError(t, err)
			require.Equal(t, []uint16{address}, words)
		}
		require.EqualValues(t, 2, c.Counts().LateAnswers)
		require.EqualValues(t, 0, c.Counts().Redials)
		require.NoError(t, c.Close())
	})
}

func TestTriesAreTold(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		m := newMeter(func(k *talker) {
			for k.next() != nil {
			}
		})
		c := m.link(t, Options{Timeout: short, Retries: 2})
		begin := time.Now()
		_, err := c.Registers(t.Context(), sixRegisters)
		require.EqualError(t, err, "tcp kiln-house:502: unit 1, holding registers 0-5: no answer within 200ms (3 tries); "+
			"is the unit number right and the meter powered? a slow gateway needs a longer timeout")
		require.Equal(t, 3*patience, time.Since(begin))
		require.Len(t, m.requests(), 3)
		require.NoError(t, c.Close())
	})
}

func TestBusyMeterIsAskedAgain(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		m := newMeter(thenHonest(func(r []byte) []byte { return withPDU(r, 0x83, byte(ServerDeviceBusy)) }))
		c := m.link(t, Options{Timeout: short, Retries: 1})
		words, err := c.Registers(t.Context(), sixRegisters)
		require.NoError(t, err)
		require.Len(t, words, 6)
		require.EqualValues(t, 1, c.Counts().Exceptions)
		require.NoError(t, c.Close())
	})
}

func TestRefusalIsNotAskedAgain(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		m := newMeter(thenHonest(func(r []byte) []byte { return withPDU(r, 0x83, byte(IllegalDataAddress)) }))
		c := m.link(t, Options{Timeout: short, Retries: 3})
		_, err := c.Registers(t.Context(), sixRegisters)
		require.ErrorIs(t, err, IllegalDataAddress)
		require.Len(t, m.requests(), 1)
		require.NoError(t, c.Close())
	})
}

// Units share a connection and never each other's answers.
func TestSeveralUnitsAtOnce(t *testing.T) {
	c := newMeter(honest).link(t, Options{Timeout: 10 * time.Second})
	var all sync.WaitGroup
	for unit := range byte(8) {
		all.Go(func() {
			for i := range uint16(100) {
				r := Read{unit, ReadHolding, uint16(unit)*1000 + i, 1 + i%5}
				words, err := c.Registers(context.Background(), r)
				if err != nil || len(words) != int(r.Count) || words[0] != r.Address {
					t.Errorf("%v: %v, %v", r, words, err)
				}
			}
		})
	}
	all.Wait()
	require.EqualValues(t, 800, c.Counts().Requests)
}
