package serve

import (
	"cmp"
	"encoding/binary"
	"io"
	"net"
	"time"
)

// Line is how a serial line speaks. The zero value takes no time.
type Line struct {
	Baud       int           // 0 sends at once
	Rate       int           // bits per second that a pseudo-terminal must be set to; 0 is any
	Bits       int           // a character, start and stop bits with it; 0 is 11
	Turnaround time.Duration // what the meter takes before it answers
	Latency    time.Duration // bytes are handed on only so often, as USB adapters do
}

// charTime is what one character takes.
func (l Line) charTime() time.Duration {
	if l.Baud == 0 {
		return 0
	}
	bits := cmp.Or(l.Bits, 11)
	return time.Duration(bits) * time.Second / time.Duration(l.Baud)
}

// ListenRTU serves RTU frames over TCP, as a serial-to-network converter does.
func (s *Server) ListenRTU(address string, l Line) (net.Addr, error) {
	return s.listen(address, func(conn io.ReadWriteCloser) { s.talkRTU(conn, l) })
}

// ServeRTU serves a serial line, such as the far end of a pseudo-terminal, in
// the background until it is closed or Close is called.
func (s *Server) ServeRTU(line io.ReadWriteCloser, l Line) error {
	return s.begin(line, func() { s.talkRTU(line, l) })
}

// hears reports whether the other end is set to this line's speed, as far as the
// system tells.
func (l Line) hears(line io.ReadWriteCloser) bool {
	port, ok := line.(interface{ rate() int })
	if !ok || l.Rate == 0 {
		return true
	}
	set := port.rate()
	return set == 0 || set == l.Rate
}

// talkRTU answers one line. A request is found by its length and its check;
// what is no request is passed over a byte at a time.
func (s *Server) talkRTU(line io.ReadWriteCloser, l Line) {
	var in []byte
	buffer := make([]byte, 512)
	for {
		n, err := line.Read(buffer)
		if err != nil {
			return
		}
		if !l.hears(line) {
			in = nil // at another speed a receiver finds no character
			continue
		}
		in = append(in, buffer[:n]...)
		for {
			frame, rest := cutRequest(in)
			in = rest
			if frame == nil {
				break
			}
			if !s.sendRTU(line, l, frame) {
				return
			}
		}
	}
}

// cutRequest takes the first whole request out of what came: unit, PDU, check.
// Functions 3 and 4 have 8 bytes, 43 has 7; of others the length isn't known,
// and they are taken whole (MODBUS Application Protocol V1.1b3, 6).
func cutRequest(in []byte) (frame, rest []byte) {
	for len(in) >= 4 {
		size := 8
		switch in[1] {
		case readHolding, readInput:
		case encapsulated:
			size = 7
		default:
			size = len(in)
		}
		if len(in) < size {
			return nil, in
		}
		if checked(in[:size]) {
			return in[:size], in[size:]
		}
		in = in[1:]
	}
	return nil, in
}

// sendRTU answers one request, at the pace of the line and with the mischief
// that is due. False is a line that is over.
func (s *Server) sendRTU(line io.ReadWriteCloser, l Line, frame []byte) bool {
	pdu := s.answer(frame[0], frame[1:len(frame)-2])
	if pdu == nil {
		return true
	}
	answer := withCheck(append([]byte{frame[0]}, pdu...))
	acts := s.mischief.rtu(answer, frame)
	asked := time.Duration(len(frame)) * l.charTime()
	return play(line, acts, pacing{start: asked + l.Turnaround, char: l.charTime(), latency: l.Latency})
}

// withCheck adds the CRC, low byte first (MODBUS over Serial Line V1.02,
// appendix B).
func withCheck(frame []byte) []byte {
	return binary.LittleEndian.AppendUint16(frame, check(frame))
}

func checked(frame []byte) bool {
	n := len(frame) - 2
	return binary.LittleEndian.Uint16(frame[n:]) == check(frame[:n])
}

// check goes bit by bit, as the standard's appendix does: this side shares no
// code with the one that it is tested against.
func check(frame []byte) uint16 {
	crc := uint16(0xFFFF)
	for _, b := range frame {
		crc ^= uint16(b)
		for range 8 {
			carry := crc&1 == 1
			crc >>= 1
			if carry {
				crc ^= 0xA001
			}
		}
	}
	return crc
}
