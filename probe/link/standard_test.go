package link

import (
	"encoding/hex"
	"strings"
	"testing"

	"github.com/goburrow/modbus"
	"github.com/stretchr/testify/require"
)

// Worked frames of MODBUS Application Protocol Specification V1.1b3 (APP) and
// MODBUS Messaging on TCP/IP Implementation Guide V1.0b (TCP).

func raw(s string) []byte {
	b, err := hex.DecodeString(strings.ReplaceAll(s, " ", ""))
	if err != nil {
		panic(err)
	}
	return b
}

func pduBytes(p *modbus.ProtocolDataUnit) []byte { return append([]byte{p.FunctionCode}, p.Data...) }

func pduOf(b []byte) *modbus.ProtocolDataUnit {
	return &modbus.ProtocolDataUnit{FunctionCode: b[0], Data: b[1:]}
}

func TestStandardsReads(t *testing.T) {
	tests := []struct {
		name            string
		read            Read
		request, answer string
		want            []uint16
	}{
		{"APP 6.3: holding registers 108 to 110", Read{1, ReadHolding, 0x6B, 3},
			"03 00 6B 00 03", "03 06 02 2B 00 00 00 64", []uint16{555, 0, 100}},
		{"APP 6.4: input register 9", Read{1, ReadInput, 8, 1},
			"04 00 08 00 01", "04 02 00 0A", []uint16{10}},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			request, err := test.read.pdu()
			require.NoError(t, err)
			require.Equal(t, raw(test.request), pduBytes(request))
			answer := pduOf(raw(test.answer))
			require.NoError(t, checkAnswer(request, answer))
			require.Equal(t, test.want, registers(answer))
		})
	}
}

// TCP 4.4.1.2: transaction 0x1501 reads register 5 of unit 0xFF. The same
// transaction then brings 6.4's value.
func TestStandardsFrameOverTCP(t *testing.T) {
	m := newMeter(func(k *talker) {
		k.next()
		k.say(raw("15 01 00 00 00 05 FF 03 02 00 0A"))
		k.next()
	})
	c := m.link(t, Options{})
	for range 0x1500 { // the packager counts transactions from 1
		_, err := c.pack.Encode(identifyPDU(basic, 0))
		require.NoError(t, err)
	}
	words, err := c.Registers(t.Context(), Read{Unit: 0xFF, Function: ReadHolding, Address: 4, Count: 1})
	require.NoError(t, err)
	require.Equal(t, []uint16{10}, words)
	require.Equal(t, [][]byte{raw("15 01 00 00 00 06 FF 03 00 04 00 01")}, m.requests())
}

// APP 7 has `81 02` answer a request of function 1, which is never sent here;
// the same for function 3.
func TestStandardsException(t *testing.T) {
	request, err := Read{1, ReadHolding, 0x04A1, 1}.pdu()
	require.NoError(t, err)
	require.ErrorIs(t, checkAnswer(request, pduOf(raw("83 02"))), IllegalDataAddress)
}

// APP 7, the names of the codes.
func TestStandardsExceptionNames(t *testing.T) {
	for code, want := range map[Exception]string{
		0x01: "exception 1 (illegal function)",
		0x02: "exception 2 (illegal data address)",
		0x03: "exception 3 (illegal data value)",
		0x04: "exception 4 (server device failure)",
		0x05: "exception 5 (acknowledge)",
		0x06: "exception 6 (server device busy)",
		0x08: "exception 8 (memory parity error)",
		0x0A: "exception 10 (gateway path unavailable)",
		0x0B: "exception 11 (gateway target device failed to respond)",
		0x07: "exception 7 (a code that the standard does not have)",
	} {
		require.EqualError(t, code, want)
	}
}

// APP 6.3, 6.4: 1 to 125 registers; 4.3: addresses 0 to 65535.
func TestWhatCanBeAskedFor(t *testing.T) {
	tests := []struct {
		name string
		read Read
		want string // of the error
	}{
		{"one register at the end", Read{1, ReadHolding, 65535, 1}, ""},
		{"the most", Read{1, ReadInput, 0, 125}, ""},
		{"none", Read{1, ReadHolding, 0, 0}, "0 registers in one request: 1 to 125 can be asked for"},
		{"too many", Read{1, ReadHolding, 0, 126}, "126 registers in one request: 1 to 125 can be asked for"},
		{"beyond the end", Read{1, ReadHolding, 65535, 2}, "2 registers from 65535 reach beyond the last one, 65535"},
		{"no function", Read{1, 0, 0, 1}, "function 0 is never sent: only 3 and 4 read registers"},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			_, err := test.read.pdu()
			if test.want == "" {
				require.NoError(t, err)
				return
			}
			require.EqualError(t, err, test.want)
			require.ErrorAs(t, err, new(InvalidRead))
		})
	}
}
