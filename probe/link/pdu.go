package link

import (
	"encoding/binary"
	"fmt"

	"github.com/goburrow/modbus"
)

// Function 43/14, read device identification, and the bit that marks an
// exception (MODBUS Application Protocol V1.1b3, 6.21 and 7).
const (
	encapsulated  = 0x2B
	deviceID      = 0x0E
	exceptionFlag = 0x80
)

// pdu builds the request. It and identifyPDU are all that can be sent.
func (r Read) pdu() (*modbus.ProtocolDataUnit, error) {
	if r.Function != ReadHolding && r.Function != ReadInput {
		return nil, InvalidRead{fmt.Sprintf("function %d is never sent: only 3 and 4 read registers", byte(r.Function))}
	}
	if r.Count < 1 || r.Count > MaxRegisters {
		return nil, InvalidRead{fmt.Sprintf("%d registers in one request: 1 to %d can be asked for", r.Count, MaxRegisters)}
	}
	if int(r.Address)+int(r.Count) > 1<<16 {
		return nil, InvalidRead{fmt.Sprintf("%d registers from %d reach beyond the last one, 65535", r.Count, r.Address)}
	}
	var one struct { // one allocation for both: this runs for every request
		pdu  modbus.ProtocolDataUnit
		data [4]byte
	}
	binary.BigEndian.PutUint16(one.data[:], r.Address)
	binary.BigEndian.PutUint16(one.data[2:], r.Count)
	one.pdu = modbus.ProtocolDataUnit{FunctionCode: byte(r.Function), Data: one.data[:]}
	return &one.pdu, nil
}

func identifyPDU(category, object byte) *modbus.ProtocolDataUnit {
	return &modbus.ProtocolDataUnit{FunctionCode: encapsulated, Data: []byte{deviceID, category, object}}
}

// checkAnswer tells whether answer is one to request: an Exception, a
// BadAnswer, or nil.
func checkAnswer(request, answer *modbus.ProtocolDataUnit) error {
	asked, got := request.FunctionCode, answer.FunctionCode
	switch {
	case got == asked|exceptionFlag && len(answer.Data) == 1:
		return Exception(answer.Data[0])
	case got == asked|exceptionFlag:
		return badAnswer(answer.Data, "the meter refused with %d bytes where one code should stand", len(answer.Data))
	case got != asked:
		return badAnswer(answer.Data, "the answer is to function %d, not %d", got, asked)
	case asked == encapsulated:
		return checkIdentity(answer.Data)
	}
	return checkRegisters(request.Data, answer.Data)
}

func checkRegisters(request, data []byte) error {
	count := int(binary.BigEndian.Uint16(request[2:]))
	if len(data) != 1+2*count || int(data[0]) != 2*count {
		return badAnswer(data, "the answer carries %d bytes where %d registers were asked for", max(len(data)-1, 0), count)
	}
	return nil
}

// registers decodes an answer that checkAnswer has passed.
func registers(answer *modbus.ProtocolDataUnit) []uint16 {
	raw := answer.Data[1:]
	words := make([]uint16, len(raw)/2)
	for i := range words {
		words[i] = binary.BigEndian.Uint16(raw[2*i:])
	}
	return words
}
