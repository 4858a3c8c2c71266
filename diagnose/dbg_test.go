package diagnose_test

import (
	"fmt"
	"legwork/diagnose"
	"legwork/sim"
	"math/rand/v2"
	"testing"
)

func TestDbg(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	n := 0
	kinds := map[string]int{}
	for range 4000 {
		s, _ := sim.RandomSite(rng, "120/208Y", sim.MixedLoads())
		s.Mistake(0.4)
		r := s.Read()
		c := diagnose.New(diagnose.Options{Service: "120/208Y"})
		c.Add(r)
		x := c.Result()
		w := placesOf(s.Truth(), 3)
		if !matches(x.Explanations[0], [][3]place{w}) {
			n++
			kinds[fmt.Sprint(w)]++
			if n < 25 {
				fmt.Printf("%v | %s %.3f seq %v\n", w, x.Explanations[0].Words, x.Explanations[0].Probability, *x.Explanations[0].Sequence)
				for _, ch := range r.Channels {
					fmt.Printf("   %.1f V %.2f A  th %.1f va %.1f\n", ch.Voltage.Or(0), ch.Current.Or(0), float64(ch.Angle.Or(0)), float64(ch.VoltageAngle.Or(0)))
				}
			}
		}
	}
	fmt.Println(n)
	for k, v := range kinds {
		if v > 1 {
			fmt.Println(k, v)
		}
	}
}
