package link

import "encoding/binary"

// The MODBUS Application Protocol header: transaction (2), protocol (2, zero),
// length (2, counts unit and PDU), unit (1), big-endian (MODBUS Messaging on
// TCP/IP Implementation Guide V1.0b, 3.1.3). A PDU is at most 253 bytes
// (MODBUS Application Protocol V1.1b3, 4.1).
const (
	headerSize = 7
	maxPDU     = 253
	maxFrame   = headerSize + maxPDU

	// directUnit is the unit identifier that a client should use for a server
	// without a gateway (Implementation Guide V1.0b, 4.4.1.3).
	directUnit = 0xFF
)

// cutTCP looks for one frame at the head of got. It gives the frame's length,
// or 0 while bytes are missing, or an error as soon as what stands there can't
// become a frame; no later byte can mend that.
func cutTCP(got []byte) (int, error) {
	if len(got) >= 4 && binary.BigEndian.Uint16(got[2:]) != 0 {
		return 0, badAnswer(got, "this is no Modbus TCP frame: its protocol number is %d, not 0",
			binary.BigEndian.Uint16(got[2:]))
	}
	if len(got) < 6 {
		return 0, nil
	}
	length := int(binary.BigEndian.Uint16(got[4:]))
	if length < 2 || length > 1+maxPDU {
		return 0, badAnswer(got, "this is no Modbus TCP frame: its length is %d, not 2 to %d", length, 1+maxPDU)
	}
	if len(got) < headerSize-1+length {
		return 0, nil
	}
	return headerSize - 1 + length, nil
}

func transaction(frame []byte) uint16 { return binary.BigEndian.Uint16(frame) }

func unitOf(frame []byte) byte { return frame[headerSize-1] }
