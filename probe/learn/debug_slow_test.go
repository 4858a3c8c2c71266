package learn

import (
	"fmt"
	"os"
	"strconv"
	"testing"
	"time"

	"legwork/sim"
)

func TestDebugSlow(t *testing.T) {
	g, err := strconv.Atoi(os.Getenv("SLOW"))
	if err != nil {
		t.Skip()
	}
	for i := range *layouts {
		seed := *first + uint64(i)
		l := sim.NewLayout(seed)
		im, last := imageOf(l, rounds)
		begin := time.Now()
		understand(im, last, seed, given(g))
		fmt.Printf("%.2f %d %s\n", time.Since(begin).Seconds(), seed, l.Service)
	}
}
