package trace

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"legwork/cmd/legwork/internal/round"
	"legwork/cmd/legwork/internal/sites"
)

// What a main shows of a circuit is told of the meter below it alone, whichever
// is read first; a circuit of the main's own is told of the main.
func TestMainsShowTheSame(t *testing.T) {
	list := &sites.List{Sites: []*sites.Site{{Name: "house"}, {Name: "floor", Under: "house"}, {Name: "suite",
		Under: "floor"}, {Name: "next", Under: "house"}}}
	for name, order := range map[string][]string{"main first": {"house", "floor", "suite", "next"}, "main last": {"next",
		"suite", "floor", "house"}} {
		t.Run(name, func(t *testing.T) {
			var found []string
			w := newWatching(list, Options{Every: time.Second, Found: func(c Circuit) bool {
				found = append(found,
					c.Meter)
				return true
			}})
			site := map[string]*sites.Site{}
			for _, s := range list.Sites {
				site[s.Name] = s
			}
			for s := range 120 {
				lamp, own := 800.0, 1500.0
				if s >= 20 && s < 30 {
					lamp = 0
				}
				if s >= 60 && s < 70 {
					own = 0
				}
				watts := map[string]float64{"suite": 1000 + lamp, "floor": 2000 + lamp, "house": 5000 + lamp + own, "next": 700}
				for _, n := range order {
					w.each(round.Outcome{Site: site[n], Reading: *told(s, watts[n])})
				}
			}
			require.Equal(t, []string{"suite", "house"}, found)
		})
	}
}
