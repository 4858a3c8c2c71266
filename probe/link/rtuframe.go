package link

import "encoding/binary"

// A frame on a serial line: unit (1), PDU, CRC (2, low byte first); at most 256
// bytes (MODBUS over Serial Line V1.02, 2.5.1).
const (
	maxRTU        = 256
	exceptionSize = 5
	rtuOverhead   = 3 // unit and CRC
)

// crc16 is the check of a frame (MODBUS over Serial Line V1.02, appendix B):
// from 0xFFFF, each byte into the low half, shifted right, with 0xA001 wherever
// a one falls out.
func crc16(frame []byte) uint16 {
	crc := uint16(0xFFFF)
	for _, b := range frame {
		crc = crc>>8 ^ crcTable[byte(crc)^b]
	}
	return crc
}

var crcTable = func() (table [256]uint16) {
	for i := range table {
		crc := uint16(i)
		for range 8 {
			out := crc & 1
			crc = crc>>1 ^ out*0xA001
		}
		table[i] = crc
	}
	return table
}()

// isWhole reports a frame whose check is right.
func isWhole(frame []byte) bool {
	n := len(frame) - 2
	return n >= 2 && binary.LittleEndian.Uint16(frame[n:]) == crc16(frame[:n])
}

// awaited is the answer that a request waits for.
type awaited struct {
	unit, function byte
	data           int // bytes of registers; 0 where the answer says its own length
}

// size is the length of an answer that begins at got[0]: 0 while it can't be
// told, -1 where none begins there.
func (w awaited) size(got []byte) int {
	switch {
	case len(got) > 0 && got[0] != w.unit:
		return -1
	case len(got) < 2:
		return 0
	case got[1] == w.function|exceptionFlag:
		return exceptionSize
	case got[1] != w.function:
		return -1
	case w.data == 0:
		return identitySize(got)
	case len(got) < 3:
		return 0
	case int(got[2]) != w.data:
		return -1
	}
	return 2 + 1 + w.data + 2
}

// identitySize follows the objects of a device identification by their length
// bytes to where the check is right; the number of objects that it states is
// not relied on.
func identitySize(got []byte) int {
	const head = 2 + identityHead - 1 // unit, function and what stands before the objects
	if len(got) > 2 && got[2] != deviceID {
		return -1
	}
	for end := head + 1; end+2 <= len(got); {
		if isWhole(got[:end+2]) {
			return end + 2
		}
		end += 2 + int(got[end+1])
		if end+2 > maxRTU {
			return -1
		}
	}
	return 0
}

// find looks for the answer at any place among what came, since noise may stand
// before it; whole tells whether a frame's check is right. n is 0 while there is
// no answer.
func (w awaited) find(got []byte, whole func(frame []byte) bool) (at, n int) {
	for at := range got {
		if size := w.size(got[at:]); size > 0 && at+size <= len(got) && whole(got[at:at+size]) {
			return at, size
		}
	}
	return 0, 0
}
