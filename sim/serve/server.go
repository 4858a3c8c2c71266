package serve

import (
	"bufio"
	"encoding/binary"
	"errors"
	"io"
	"maps"
	"net"
	"sync"
)

// Server answers for some units. Make one with New, and close it.
type Server struct {
	units map[byte]*Unit

	mu        sync.Mutex
	counts    Counts
	listeners []net.Listener
	conns     map[net.Conn]bool
	closed    bool
	running   sync.WaitGroup
}

// Counts is what came in so far.
type Counts struct {
	Connections int
	Functions   map[byte]int // requests by function code
	Silent      int          // requests to a unit that isn't there
}

// New is a server for units by their identifiers. A unit 255 also answers for 0.
func New(units map[byte]*Unit) *Server {
	return &Server{units: units, conns: map[net.Conn]bool{}, counts: Counts{Functions: map[byte]int{}}}
}

// ErrClosed is what listening on a closed server gives.
var ErrClosed = errors.New("the server is closed")

// ListenTCP serves Modbus TCP on an address such as "127.0.0.1:0", in the
// background, and gives the address that it took.
func (s *Server) ListenTCP(address string) (net.Addr, error) {
	l, err := net.Listen("tcp", address)
	if err != nil {
		return nil, err
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.closed {
		_ = l.Close()
		return nil, ErrClosed
	}
	s.listeners = append(s.listeners, l)
	s.running.Add(1)
	go s.accept(l)
	return l.Addr(), nil
}

func (s *Server) accept(l net.Listener) {
	defer s.running.Done()
	for {
		conn, err := l.Accept()
		if err != nil {
			return
		}
		s.mu.Lock()
		if s.closed {
			_ = conn.Close()
		} else {
			s.conns[conn] = true
			s.counts.Connections++
			s.running.Add(1)
			go s.talk(conn)
		}
		s.mu.Unlock()
	}
}

// talk answers one connection, in the order of its requests.
func (s *Server) talk(conn net.Conn) {
	defer s.running.Done()
	defer func() {
		_ = conn.Close()
		s.mu.Lock()
		delete(s.conns, conn)
		s.mu.Unlock()
	}()
	in := bufio.NewReader(conn)
	for {
		frame, err := readTCP(in)
		if err != nil {
			return
		}
		if answer := s.answerTCP(frame); answer != nil {
			if _, err := conn.Write(answer); err != nil {
				return
			}
		}
	}
}

// errFrame is a header that can't begin a frame: the connection is of no use.
var errFrame = errors.New("no Modbus TCP frame")

// readTCP reads one frame: transaction, protocol, length, unit, PDU (MODBUS
// Messaging on TCP/IP Implementation Guide V1.0b, 3.1.3).
func readTCP(in io.Reader) ([]byte, error) {
	header := make([]byte, 7, 260)
	if _, err := io.ReadFull(in, header); err != nil {
		return nil, err
	}
	length := int(binary.BigEndian.Uint16(header[4:]))
	if binary.BigEndian.Uint16(header[2:]) != 0 || length < 2 || length > 254 {
		return nil, errFrame
	}
	frame := header[:7+length-1]
	_, err := io.ReadFull(in, frame[7:])
	return frame, err
}

// answerTCP makes the frame that answers one, or nil for silence.
func (s *Server) answerTCP(frame []byte) []byte {
	pdu := s.answer(frame[6], frame[7:])
	if pdu == nil {
		return nil
	}
	out := append([]byte{}, frame[:7]...)
	binary.BigEndian.PutUint16(out[4:], uint16(1+len(pdu)))
	return append(out, pdu...)
}

// answer finds the unit and lets it answer; nil where there is none.
func (s *Server) answer(id byte, pdu []byte) []byte {
	s.mu.Lock()
	s.counts.Functions[pdu[0]]++
	unit := s.units[id]
	if unit == nil && id == 0 {
		unit = s.units[255]
	}
	if unit == nil {
		s.counts.Silent++
	}
	s.mu.Unlock()
	if unit == nil {
		return nil
	}
	return unit.answer(pdu)
}

// Counts tells what came in so far.
func (s *Server) Counts() Counts {
	s.mu.Lock()
	defer s.mu.Unlock()
	c := s.counts
	c.Functions = maps.Clone(c.Functions)
	return c
}

// Close ends all connections and waits for what serves them.
func (s *Server) Close() error {
	s.mu.Lock()
	s.closed = true
	for _, l := range s.listeners {
		_ = l.Close()
	}
	for conn := range s.conns {
		_ = conn.Close()
	}
	s.mu.Unlock()
	s.running.Wait()
	return nil
}
