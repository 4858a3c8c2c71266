package learn

import (
	"os"
	"strconv"
	"testing"
)

func TestDebugRow(t *testing.T) {
	g, err := strconv.Atoi(os.Getenv("ROW"))
	if err != nil {
		t.Skip()
	}
	c := bench(given(g), func(said string) { t.Log(said) })
	n := float64(c.layouts)
	t.Logf("row %d of %d: right %.1f wrong %.1f open %.1f points %d false %d longest %s", g, c.layouts, 100*float64(c.right)/n, 100*float64(c.wrong)/n, 100*(n-float64(c.right)-float64(c.wrong))/n, c.points, c.falsePoints, c.longest)
}
