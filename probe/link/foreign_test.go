package link

import (
	"io"
	"log"
	"net"
	"testing"
	"time"

	"github.com/simonvetter/modbus"
	"github.com/stretchr/testify/require"
)

// foreign serves 100 holding and 100 input registers of unit 7 with a Modbus
// server that has nothing in common with this package or its packager.
type foreign struct{ modbus.RequestHandler }

func (foreign) HandleHoldingRegisters(r *modbus.HoldingRegistersRequest) ([]uint16, error) {
	if r.IsWrite {
		return nil, modbus.ErrServerDeviceFailure
	}
	return table(r.UnitId, r.Addr, r.Quantity, 0x1000)
}

func (foreign) HandleInputRegisters(r *modbus.InputRegistersRequest) ([]uint16, error) {
	return table(r.UnitId, r.Addr, r.Quantity, 0x2000)
}

func table(unit uint8, from, count, base uint16) ([]uint16, error) {
	if unit != 7 {
		return nil, modbus.ErrGWTargetFailedToRespond
	}
	if int(from)+int(count) > 100 {
		return nil, modbus.ErrIllegalDataAddress
	}
	var words []uint16
	for i := range count {
		words = append(words, base+from+i)
	}
	return words, nil
}

func serveForeign(t *testing.T) string {
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	address := listener.Addr().String()
	require.NoError(t, listener.Close()) // the server wants to listen itself
	server, err := modbus.NewServer(&modbus.ServerConfiguration{
		URL: "tcp://" + address, Timeout: time.Minute, MaxClients: 4, Logger: log.New(io.Discard, "", 0),
	}, foreign{})
	require.NoError(t, err)
	require.NoError(t, server.Start())
	t.Cleanup(func() { _ = server.Stop() })
	return address
}

func TestAgainstAServerOfOthers(t *testing.T) {
	c, err := DialTCP(t.Context(), serveForeign(t), Options{Timeout: 5 * time.Second})
	require.NoError(t, err)
	defer c.Close()

	words, err := c.Registers(t.Context(), Read{7, ReadHolding, 10, 3})
	require.NoError(t, err)
	require.Equal(t, []uint16{0x100A, 0x100B, 0x100C}, words)
	words, err = c.Registers(t.Context(), Read{7, ReadInput, 0, 100})
	require.NoError(t, err)
	require.Len(t, words, 100)
	require.EqualValues(t, 0x2063, words[99])

	// APP 7's range rule: of 100 registers, 4 from 96 can be read and 5 can't.
	_, err = c.Registers(t.Context(), Read{7, ReadHolding, 96, 4})
	require.NoError(t, err)
	_, err = c.Registers(t.Context(), Read{7, ReadHolding, 96, 5})
	require.ErrorIs(t, err, IllegalDataAddress)
	_, err = c.Registers(t.Context(), Read{8, ReadHolding, 0, 1})
	require.ErrorIs(t, err, GatewayTarget)

	_, err = c.Identify(t.Context(), 7)
	require.ErrorIs(t, err, ErrNoIdentity)
	require.Zero(t, c.Counts().Redials)
}
