package probe

import (
	"context"
	"errors"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"legwork/probe/link"
	"legwork/probe/reading"
	"legwork/probe/regmap"
)

const gapMap = `legwork-map: 1
unit: 7
points:
  voltage.1: {at: 0, type: u16, scale: 0.1}
  current.1: {at: 1, type: u16, scale: 0.1}
  power.1: {at: 10, type: s16}
`

// fakeConn answers from registers; those it lacks are refused.
type fakeConn struct {
	registers map[uint16]uint16
	asked     []link.Read
	err       error
	tick      func()
}

func (f *fakeConn) Registers(_ context.Context, r link.Read) ([]uint16, error) {
	f.asked = append(f.asked, r)
	f.tick()
	if f.err != nil {
		return nil, f.err
	}
	var words []uint16
	for a := range r.Count {
		w, ok := f.registers[r.Address+a]
		if !ok {
			return nil, &link.Error{Op: "read", Place: "tcp x:502", Unit: r.Unit, Function: r.Function, Address: r.Address, Count: r.Count, Err: link.IllegalDataAddress}
		}
		words = append(words, w)
	}
	return words, nil
}

func (f *fakeConn) Identify(context.Context, byte) (link.Identity, error) {
	return link.Identity{}, errors.New("not asked for")
}
func (f *fakeConn) Close() error { return nil }

func newFake(t *testing.T, registers map[uint16]uint16) (*fakeConn, *Meter) {
	m, err := regmap.Parse("m.yaml", []byte(gapMap))
	require.NoError(t, err)
	now := time.Date(2026, 5, 4, 9, 30, 0, 0, time.UTC)
	f := &fakeConn{registers: registers, tick: func() { now = now.Add(10 * time.Millisecond) }}
	return f, NewMeter(f, m, MeterOptions{Service: "120", Now: func() time.Time { return now }})
}

func TestMeterThatRefusesTheGap(t *testing.T) {
	f, m := newFake(t, map[uint16]uint16{0: 1201, 1: 105, 10: 0xFFFE})
	require.Equal(t, []regmap.Request{{Table: regmap.Holding, Address: 0, Count: 11}}, m.Plan())
	r, err := m.Read(t.Context())
	require.NoError(t, err)
	require.InDelta(t, 120.1, r.Channels[0].Voltage.Or(0), 1e-9)
	require.Equal(t, reading.Known(-2.0), r.Channels[0].Power)
	require.Equal(t, "120", r.Service)
	require.Equal(t, 10*time.Millisecond, r.Skew)
	require.Len(t, f.asked, 3, "once with the gap, twice without")
	require.Equal(t, byte(7), f.asked[0].Unit)

	_, err = m.Read(t.Context())
	require.NoError(t, err)
	require.Len(t, f.asked, 5, "the gap isn't tried again")
}

func TestMeterThatLacksAPoint(t *testing.T) {
	_, m := newFake(t, map[uint16]uint16{0: 1201, 1: 105})
	_, err := m.Read(t.Context())
	require.ErrorContains(t, err, "exception 2")
	require.ErrorContains(t, err, "the map puts power.1 there: check the addresses")
	var le *link.Error
	require.ErrorAs(t, err, &le)
}

func TestMeterThatIsSilent(t *testing.T) {
	f, m := newFake(t, nil)
	f.err = &link.Error{Op: "read", Place: "tcp x:502", Err: errors.New("silence")}
	_, err := m.Read(t.Context())
	require.ErrorContains(t, err, "silence")
	require.Len(t, f.asked, 1)
}
