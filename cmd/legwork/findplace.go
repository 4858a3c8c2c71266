package main

import (
	"errors"
	"fmt"
	"strings"

	"legwork/cmd/legwork/internal/source"
)

// whereToFind takes the argument, or the only likely port.
func (a *app) whereToFind(args []string) (source.Address, error) {
	if len(args) == 1 {
		where, err := source.Parse(bare(args[0]))
		if err != nil || !where.Short() {
			return where, fmt.Errorf("%q is no place to look: name a port (`legwork ports` lists them) or a HOST, with its "+
				"port where that isn't 502", args[0])
		}
		return where, nil
	}
	likely, err := adapters()
	if err != nil {
		return source.Address{}, err
	}
	switch len(likely) {
	case 1:
		return source.Parse("rtu://" + likely[0])
	case 0:
		return source.Address{}, errors.New("there is no USB adapter; name a port (`legwork ports` lists them) or a HOST")
	}
	return source.Address{}, fmt.Errorf("there are %d USB adapters; say which: %s", len(likely),
		strings.Join(likely, ", "))
}

// bare takes what stands round a port or a host in a METER away: find asks for
// no more than that.
func bare(where string) string {
	for _, scheme := range []string{"rtu+tcp://", "rtu://", "tcp://"} {
		if rest, is := strings.CutPrefix(where, scheme); is {
			rest, _, _ = strings.Cut(rest, "?")
			if scheme != "rtu://" {
				rest, _, _ = strings.Cut(rest, "/")
			}
			return rest
		}
	}
	return where
}

// parseUnits reads "1-10" and "1,5,17".
func parseUnits(text string) ([]byte, error) {
	var units []byte
	seen := map[int]bool{}
	for part := range strings.SplitSeq(text, ",") {
		low, high, isRange := strings.Cut(strings.TrimSpace(part), "-")
		from, err := source.ParseUnit(low)
		to := from
		if err == nil && isRange {
			to, err = source.ParseUnit(high)
		}
		if err != nil || to < from {
			return nil, fmt.Errorf("%q: write units from 1 to 247, such as 1-10 or 1,5,17", text)
		}
		for u := from; u <= to; u++ {
			if !seen[u] {
				seen[u] = true
				units = append(units, byte(u))
			}
		}
	}
	return units, nil
}
