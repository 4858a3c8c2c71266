package link

import (
	"reflect"
	"testing"
	"testing/synctest"

	"github.com/stretchr/testify/require"
)

// Whatever is called with whatever values, a meter sees functions 3, 4 and
// 43/14 and no other.
func TestNothingCanWrite(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		m := newMeter(func(k *talker) {
			for request := k.next(); request != nil; request = k.next() {
				k.say(withPDU(request, request[7]|exceptionFlag, byte(IllegalFunction)))
			}
		})
		c := m.link(t, Options{Timeout: short})
		for f := range 256 {
			for _, count := range []uint16{0, 1, 2, 125, 126, 65535} {
				_, err := c.Registers(t.Context(), Read{1, Function(f), 0, count})
				require.Error(t, err)
			}
			_, err := c.Identify(t.Context(), byte(f))
			require.Error(t, err)
		}
		require.NoError(t, c.Close())

		seen := map[byte]int{}
		for _, request := range m.requests() {
			seen[request[7]]++
			if request[7] == encapsulated {
				require.EqualValues(t, deviceID, request[8])
			}
		}
		require.Equal(t, map[byte]int{3: 3, 4: 3, 43: 256}, seen)
	})
}

// The sweep above reaches every way in: a new exported method has to be added
// to it, or this fails.
func TestEveryWayInIsSwept(t *testing.T) {
	var names []string
	for m := range reflect.TypeFor[*TCP]().Methods() {
		names = append(names, m.Name)
	}
	require.Equal(t, []string{"Close", "Counts", "Identify", "Registers"}, names)
	for f := range reflect.TypeFor[TCP]().Fields() {
		require.False(t, f.IsExported(), f.Name)
	}
}
