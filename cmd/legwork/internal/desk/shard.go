package desk

import (
	"crypto/sha256"
	"encoding/binary"
	"fmt"
	"strconv"
	"strings"

	"legwork/cmd/legwork/internal/sites"
	"legwork/cmd/legwork/internal/source"
)

// Shard is one part of a list: K of N, from 1. The zero value is the whole list.
type Shard struct{ K, N int }

// ParseShard reads K/N.
func ParseShard(text string) (Shard, error) {
	if text == "" {
		return Shard{}, nil
	}
	k, n, _ := strings.Cut(text, "/")
	s := Shard{}
	var errK, errN error
	s.K, errK = strconv.Atoi(k)
	s.N, errN = strconv.Atoi(n)
	if errK != nil || errN != nil || s.N < 1 || s.N > mostShards || s.K < 1 || s.K > s.N {
		return Shard{}, fmt.Errorf("%q is not K/N, such as 1/3, the first of three parts", text)
	}
	return s, nil
}

// mostShards bounds N: each wire is weighed for every one.
const mostShards = 1000

// Owner is the shard of n, from 1, that a wire belongs to: the one with the
// highest weight (rendezvous hashing), so that when n changes only what must
// move moves. The weight of K is the first 8 bytes, big-endian, of the SHA-256
// of the wire, a zero byte, and K in decimal digits.
func Owner(wire string, n int) int {
	best, most := 1, uint64(0)
	for k := 1; k <= n; k++ {
		sum := sha256.Sum256([]byte(wire + "\x00" + strconv.Itoa(k)))
		if w := binary.BigEndian.Uint64(sum[:8]); k == 1 || w > most {
			best, most = k, w
		}
	}
	return best
}

// Take gives the shard's part of a list. The error names a serial port, which
// is on one machine only.
func (s Shard) Take(l *sites.List) (*sites.List, error) {
	if s.N == 0 {
		return l, nil
	}
	part := &sites.List{File: l.File, Maps: l.Maps}
	for _, one := range l.Sites {
		if one.Meter.Kind == source.RTU || one.Meter.Kind == source.BarePort {
			return nil, fmt.Errorf("%s: %s is a serial port of one machine, and can't be in a list that --shard parts", one.Name,
				one.Meter.Text)
		}
		if Owner(one.Wire, s.N) == s.K {
			part.Sites = append(part.Sites, one)
		}
	}
	return part, nil
}
