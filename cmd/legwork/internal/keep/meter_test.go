package keep

import (
	"context"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"legwork/cmd/legwork/internal/source"
	"legwork/probe/reading"
)

// manyReadings is a source that gives readings without end.
type manyReadings struct{ source.Source }

func (manyReadings) Next(context.Context) (reading.Reading, error) {
	return reading.Reading{At: time.Date(2026, 5, 4, 9, 30, 0, 0, time.UTC), Channels: make([]reading.Channel, 1)}, nil
}

// A long capture is known by its hash; a meter's readings are what an entry holds.
func TestMoreReadingsThanAnEntryHolds(t *testing.T) {
	for name, c := range map[string]struct {
		from   source.Address
		refuse bool
	}{
		"a capture's file":   {source.Address{Kind: source.Capture, Name: "kiln.jsonl"}, false},
		"standard input":     {source.Address{Kind: source.Capture, Name: "-"}, true},
		"a meter, on and on": {source.Address{Kind: source.TCP}, true},
	} {
		t.Run(name, func(t *testing.T) {
			k := &meter{Source: manyReadings{}, from: Origin{Address: c.from}}
			var err error
			for range mostKept + 1 {
				if _, err = k.Next(context.Background()); err != nil {
					break
				}
			}
			if c.refuse {
				require.ErrorContains(t, err, "an entry holds 20000 readings at most")
				require.Len(t, k.lines, mostKept)
				return
			}
			require.NoError(t, err)
			require.Empty(t, k.lines)
			require.Equal(t, mostKept+1, k.n)
		})
	}
}
