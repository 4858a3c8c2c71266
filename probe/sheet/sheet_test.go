package sheet

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestNear(t *testing.T) {
	names := []string{"voltage", "current", "meter", "at"}
	require.Equal(t, "voltage", Near("volatge", names))
	require.Equal(t, "meter", Near("metre", names))
	require.Equal(t, "current", Near("curent", names))
	require.Empty(t, Near("something else", names))
}

func TestFaultsComeInOrderAndAreBounded(t *testing.T) {
	s, root := Open("f.yaml", []byte(strings.Repeat("x", 3)+": 1\nb: 2\n"))
	for i := range 80 {
		root.FaultAt(80-i, 1, "wrong", "mend it")
	}
	var faults *Faults
	require.ErrorAs(t, s.Err(), &faults)
	require.Len(t, faults.List, mostFaults)
	require.Equal(t, "f.yaml:1:1: wrong; mend it", faults.List[0].Error())
}

func TestNumbersMustBePlain(t *testing.T) {
	for text, ok := range map[string]bool{"10": true, "0x10": true, "-3": true, "010": false, "4_0": false, `"7"`: false, "1.5": false, "ten": false, "[1]": false} {
		s, root := Open("f.yaml", []byte("n: "+text+"\n"))
		_, got := root.Fields("n")["n"].Int(-100, 100)
		require.Equal(t, ok, got, text)
		require.Equal(t, ok, s.Err() == nil, text)
	}
}

func FuzzOpen(f *testing.F) {
	f.Add([]byte("a: {b: [1, 2]}\nc: |\n  text\n"))
	f.Add([]byte("&x a: *x\n<<: y\n--- !!t z"))
	f.Fuzz(func(t *testing.T, src []byte) {
		s, root := Open("f.yaml", src)
		for _, e := range root.Entries() { // law 1: whatever opens can be walked
			e.Value.Text()
			e.Value.Float()
			e.Value.Bool()
			for _, item := range e.Value.List() {
				item.Fields("b")
			}
		}
		if err := s.Err(); err != nil { // law 2: every fault has a place
			require.True(t, strings.HasPrefix(err.Error(), "f.yaml:"))
		}
	})
}
