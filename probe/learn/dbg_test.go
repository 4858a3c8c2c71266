package learn

import (
	"fmt"
	"legwork/sim"
	"os"
	"strconv"
	"testing"
)

func TestDbg(t *testing.T) {
	seed, _ := strconv.Atoi(os.Getenv("SEED"))
	l := sim.NewLayout(uint64(seed))
	im, _ := imageOf(l, 6)
	fmt.Println(l.Service, l.Made)
	for _, p := range l.Map().Points() {
		fmt.Println(p.String(), p.Table, p.Address, p.Type, p.Order, p.Scale)
	}
	for _, b := range im.Blocks {
		fmt.Println(b.Table, b.At, len(b.Rounds[0]))
	}
	lib := read(im)
	from, _ := strconv.Atoi(os.Getenv("AT"))
	for at := from; at < from+30; at++ {
		for f, sh := range lib.shelves {
			if s := sh[place{im.Blocks[0].Table, at}]; s != nil && (os.Getenv("T") == "" || string(f.typ) == os.Getenv("T") && string(f.order) == os.Getenv("O")) {
				fmt.Println(at, f, s.x, s.step)
			}
		}
	}
}
