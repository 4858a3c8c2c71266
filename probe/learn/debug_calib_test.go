package learn

import (
	"fmt"
	"os"
	"sync"
	"testing"

	"legwork/sim"
)

func TestDebugCalib(t *testing.T) {
	var g int
	if c, _ := fmt.Sscan(os.Getenv("CALIB"), &g); c < 1 {
		t.Skip()
	}
	var wait sync.WaitGroup
	next := make(chan uint64)
	var mu sync.Mutex
	type bin struct{ n, bad int }
	bins := map[int]*bin{}
	for range 2 {
		wait.Go(func() {
			for seed := range next {
				l := sim.NewLayout(seed)
				im, last := imageOf(l, rounds)
				r := understand(im, last, seed, given(g))
				if r == nil || len(r.Points)+len(r.Open) == 0 {
					continue
				}
				all := *r
				all.Points = append(append([]Point{}, r.Points...), r.Open...)
				bad, least := false, 1.
				ch := 0
				all.Channels = max(1, all.Channels)
				wrong := faults(l, all.Map(), last)
				why := ""
				for _, p := range all.Points {
					if p.Quantity <= 3 {
						if p.Probability < least {
							least = p.Probability
						}
						if p.Quantity == 1 {
							ch++
						}
						if w, is := wrong[p.Point.Point.String()]; is {
							bad = true
							why += p.line() + w
						}
					}
				}
				if ch != len(last.Channels) {
					bad = true
					why += fmt.Sprint("channels ", ch)
				}
				mu.Lock()
				k := 0
				for _, x := range []float64{0.3, 0.5, 0.7, 0.8, 0.85, 0.9, 0.93, 0.95, 0.97, 0.99} {
					if least >= x {
						k++
					}
				}
				if bins[k] == nil {
					bins[k] = &bin{}
				}
				bins[k].n++
				if bad {
					bins[k].bad++
					if least > 0.8 {
						fmt.Println(seed, l.Service, l.Made, least, why)
					}
				}
				mu.Unlock()
			}
		})
	}
	for i := range *layouts {
		next <- *first + uint64(i)
	}
	close(next)
	wait.Wait()
	for k, x := range []float64{0, 0.3, 0.5, 0.7, 0.8, 0.85, 0.9, 0.93, 0.95, 0.97, 0.99} {
		if b := bins[k]; b != nil {
			fmt.Printf(">= %.2f: %d, bad %d\n", x, b.n, b.bad)
		}
	}
}
