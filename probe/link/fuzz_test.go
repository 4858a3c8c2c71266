package link

import (
	"bytes"
	"testing"

	"github.com/goburrow/modbus"
	"github.com/stretchr/testify/require"
)

// FuzzTCPFrame holds the frame reader to these laws, for any bytes at all:
//
//  1. it never panics, nor does what opens the frame that it gives;
//  2. a frame is 8 to 260 bytes long and no longer than what came;
//  3. what it says of a head it says of every longer one: bytes that come
//     later change neither a frame nor an error, so chunks don't matter;
//  4. packing what was unpacked gives the frame's bytes again.
func FuzzTCPFrame(f *testing.F) {
	f.Add(raw("15 01 00 00 00 06 FF 03 00 04 00 01"))
	f.Add(raw("00 01 00 00 00 03 01 83 02"))
	f.Add(raw("00 01 00 00 00 05 01 03 02 00 0A 00 02 00 00 00 05 01 03 02 00 0B"))
	f.Add(raw("00 01 00 00 00 10 01 2B 0E 01 01 00 00 01 00 05 56 32 2E 31 31"))
	f.Add([]byte("HTTP/1.1 400 Bad Request\r\n\r\n"))
	f.Add(raw("00"))
	f.Fuzz(func(t *testing.T, got []byte) {
		n, err := cutTCP(got)
		for i := range got {
			m, early := cutTCP(got[:i])
			if m != 0 || early != nil {
				require.Equal(t, n, m, "law 3")
				require.Equal(t, err == nil, early == nil, "law 3")
			}
		}
		if err != nil || n == 0 {
			require.Zero(t, n)
			return
		}
		require.GreaterOrEqual(t, n, 8, "law 2")
		require.LessOrEqual(t, n, min(len(got), 260), "law 2")
		openAny(t, bytes.Clone(got[:n]))
	})
}

func openAny(t *testing.T, frame []byte) {
	c := newTCP("", Options{}, nil)
	for _, asked := range []*modbus.ProtocolDataUnit{
		{FunctionCode: 3, Data: []byte{0, 0, 0, 1}},
		{FunctionCode: 4, Data: []byte{0, 0, 0, 125}},
		identifyPDU(basic, 0),
	} {
		answer, err := c.open(frame, frame, asked)
		if err == nil && asked.FunctionCode != encapsulated {
			require.Len(t, registers(answer), int(asked.Data[3]))
		}
	}
	pdu, err := c.pack.Decode(frame)
	require.NoError(t, err)
	c.pack.SlaveId = unitOf(frame)
	again, err := c.pack.Encode(pdu)
	require.NoError(t, err)
	require.Equal(t, frame[2:], again[2:], "law 4") // all but the transaction number
}
