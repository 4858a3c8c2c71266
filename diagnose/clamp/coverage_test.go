package clamp

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"legwork/probe/reading"
)

// trial is a load, its meter and a clamp. The load goes from one level to the
// next over the samples; the meter is right, so the true ratio is 1.
type trial struct {
	amps     float64 // A, at least; up to a quarter more
	levels   []float64
	waver    float64 // of each sample about its level, one standard deviation as a share
	accuracy Accuracy
	samples  int
}

const digit = 0.1 // A, of the clamp

// draw makes one comparison: the clamp is read at the moment of some sample, or
// at one more where there is but one; its error is evenly spread within its
// limit, and it rounds to its last digit.
func (c trial) draw(t testing.TB, rng *rand.Rand) Compared {
	amps := c.amps * (1 + rng.Float64()/4)
	var samples []reading.Reading
	var loads []float64
	for i := range max(2, c.samples) {
		load := amps * (1 + c.waver*rng.NormFloat64())
		if len(c.levels) > 0 {
			load *= c.levels[i*len(c.levels)/c.samples]
		}
		loads = append(loads, load)
		if i < c.samples {
			samples = append(samples, reading.Reading{Channels: []reading.Channel{{Current: reading.Known(load)}}})
		}
	}
	now := loads[rng.IntN(len(loads))]
	if c.samples == 1 {
		now = loads[1]
	}
	limit := c.accuracy.Share*now + c.accuracy.Digits*digit
	shown := math.Round((now+limit*(2*rng.Float64()-1))/digit) * digit
	r := Compare(samples, []Read{{Leg: 1, Quantity: reading.Current, Value: shown, Digit: digit}},
		Options{Accuracy: c.accuracy})
	require.Len(t, r.Channels, 1)
	return r.Channels[0]
}

// The interval of a ratio holds the true one 95 times in 100, whichever error is
// the largest; 93 to 97 are asked for. A load that is on for a fifth of the time
// is also taken to be off for a fifth, so its interval is wider than it need be.
func TestCoverageOfTheRatio(t *testing.T) {
	if testing.Short() {
		t.Skip("long, and of one goroutine")
	}
	t.Parallel()
	for i, c := range []struct {
		name string
		of   trial
		most float64
	}{
		{"the instrument's limit alone", trial{40, nil, 0.0001, Accuracy{0.02, 5}, 8}, 0.97},
		{"the instrument's limit and rounding", trial{20, nil, 0.0001, Accuracy{0.005, 0}, 8}, 0.97},
		{"rounding is most of it", trial{10, nil, 0.0001, Accuracy{0.001, 0}, 8}, 0.97},
		{"the instrument and a load that wavers alike", trial{40, nil, 0.01, Accuracy{0.02, 0}, 8}, 0.97},
		{"a load that wavers", trial{40, nil, 0.03, Accuracy{0.015, 3}, 8}, 0.97},
		{"a load of two levels", trial{40, []float64{1, 1.06}, 0.002, Accuracy{0.01, 3}, 8}, 0.97},
		{"a load that is on for a fifth of the time", trial{40, []float64{1, 1, 1, 1, 1.08}, 0.002, Accuracy{0.01, 3}, 10},
			0.99},
		{"one sample", trial{40, nil, loneDoubt / math.Sqrt2, Accuracy{0.02, 3}, 1}, 0.97},
		{"one sample, a poor instrument", trial{40, nil, loneDoubt / math.Sqrt2, Accuracy{0.06, 0}, 1}, 0.97},
	} {
		rng := rand.New(rand.NewPCG(20260611, uint64(i)))
		const n = 800 // one standard deviation of the share is 0.8 %
		held := 0
		for range n {
			if x := c.of.draw(t, rng); x.Low.Or(0) <= 1 && 1 <= x.High.Or(math.Inf(1)) {
				held++
			}
		}
		share := float64(held) / n
		t.Logf("%-45s %5.1f %%", c.name, 100*share)
		require.GreaterOrEqual(t, share, 0.93, c.name)
		require.LessOrEqual(t, share, c.most, c.name)
	}
}
