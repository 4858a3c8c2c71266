package serve

import (
	"bufio"
	"crypto/tls"
	"encoding/binary"
	"errors"
	"io"
	"maps"
	"net"
	"sync"
	"time"
)

// Server answers for some units. Make one with New, and close it.
type Server struct {
	units map[byte]*Unit

	mischief *Mischief
	delay    time.Duration // before a TCP answer
	single   bool          // one connection at a time

	mu      sync.Mutex
	counts  Counts
	open    map[io.Closer]bool // listeners, connections and lines
	closed  bool
	running sync.WaitGroup
}

// Counts is what came in so far.
type Counts struct {
	Connections int
	Functions   map[byte]int // requests by function code
	Silent      int          // requests to a unit that isn't there
}

// New is a server for units by their identifiers. A unit 255 also answers for 0.
func New(units map[byte]*Unit) *Server {
	return &Server{units: units, open: map[io.Closer]bool{}, counts: Counts{Functions: map[byte]int{}}}
}

// Spoil has answers spoilt from now on, before anything is served.
func (s *Server) Spoil(m *Mischief) { s.mischief = m }

// Delay has every TCP answer wait, as behind a slow gateway.
func (s *Server) Delay(d time.Duration) { s.delay = d }

// OneClient has every connection beyond the first closed at once, as small
// gateways do.
func (s *Server) OneClient() {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.single = true
}

// ErrClosed is what listening on a closed server gives.
var ErrClosed = errors.New("the server is closed")

// ListenTCP serves Modbus TCP on an address such as "127.0.0.1:0", in the
// background, and gives the address that it took.
func (s *Server) ListenTCP(address string) (net.Addr, error) {
	return s.listen(address, s.talk)
}

// ServeTCP serves one connection that is already there.
func (s *Server) ServeTCP(conn io.ReadWriteCloser) error {
	return s.begin(conn, func() { s.talk(conn) })
}

// ListenTLS serves Modbus/TCP Security in the same way.
func (s *Server) ListenTLS(address string, c *tls.Config) (net.Addr, error) {
	return s.listen(address, func(conn io.ReadWriteCloser) { s.talk(tls.Server(conn.(net.Conn), c)) })
}

func (s *Server) listen(address string, talk func(io.ReadWriteCloser)) (net.Addr, error) {
	l, err := net.Listen("tcp", address)
	if err != nil {
		return nil, err
	}
	return l.Addr(), s.begin(l, func() { s.accept(l, talk) })
}

func (s *Server) accept(l net.Listener, talk func(io.ReadWriteCloser)) {
	for {
		conn, err := l.Accept()
		if err != nil {
			return
		}
		s.mu.Lock()
		s.counts.Connections++
		full := s.single && len(s.open) > 1 // the listener is one of them
		s.mu.Unlock()
		if full {
			_ = conn.Close()
			continue
		}
		if s.begin(conn, func() { talk(conn) }) != nil {
			return
		}
	}
}

// begin runs serve in the background; c ends with it, and with the server.
func (s *Server) begin(c io.Closer, serve func()) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.closed {
		_ = c.Close()
		return ErrClosed
	}
	s.open[c] = true
	s.running.Go(func() {
		serve()
		_ = c.Close()
		s.mu.Lock()
		defer s.mu.Unlock()
		delete(s.open, c)
	})
	return nil
}

// talk answers one connection, in the order of its requests.
func (s *Server) talk(conn io.ReadWriteCloser) {
	in := bufio.NewReader(conn)
	for {
		frame, err := readTCP(in)
		if err != nil {
			return
		}
		if answer := s.answerTCP(frame); answer != nil {
			if !play(conn, s.mischief.tcp(answer), pacing{start: s.delay}) {
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
	for c := range s.open {
		_ = c.Close()
	}
	s.mu.Unlock()
	s.running.Wait()
	return nil
}
