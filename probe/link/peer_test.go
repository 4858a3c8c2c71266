package link

import (
	"context"
	"encoding/binary"
	"io"
	"net"
	"sync"
	"testing"
	"time"
)

// meter is a fake on the other end of a net.Pipe, so that in a synctest bubble
// all time is the bubble's. Each connection is served by the next script; the
// last one serves all that follow.
type meter struct {
	scripts []func(*talker)

	mu    sync.Mutex
	dials int
	seen  [][]byte // every request
}

// talker is the meter's end of one connection.
type talker struct {
	net.Conn
	m *meter
}

func newMeter(scripts ...func(*talker)) *meter { return &meter{scripts: scripts} }

func (m *meter) dial(context.Context) (net.Conn, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	ours, theirs := net.Pipe()
	script := m.scripts[min(m.dials, len(m.scripts)-1)]
	m.dials++
	go func() {
		defer theirs.Close()
		script(&talker{theirs, m})
	}()
	return ours, nil
}

func (m *meter) link(t testing.TB, o Options) *TCP {
	c := newTCP("kiln-house:502", o, m.dial)
	t.Cleanup(func() { _ = c.Close() })
	return c
}

func (m *meter) requests() [][]byte {
	m.mu.Lock()
	defer m.mu.Unlock()
	return append([][]byte(nil), m.seen...)
}

// next reads one request; nil when the connection has ended.
func (k *talker) next() []byte {
	head := make([]byte, 6)
	if _, err := io.ReadFull(k, head); err != nil {
		return nil
	}
	body := make([]byte, binary.BigEndian.Uint16(head[4:]))
	if _, err := io.ReadFull(k, body); err != nil {
		return nil
	}
	request := append(head, body...)
	k.m.mu.Lock()
	defer k.m.mu.Unlock()
	k.m.seen = append(k.m.seen, request)
	return request
}

func (k *talker) say(frame []byte) { _, _ = k.Write(frame) }

// honest answers every register with its own address, for ever.
func honest(k *talker) {
	for request := k.next(); request != nil; request = k.next() {
		k.say(right(request))
	}
}

// once serves one request with reply, then closes.
func once(reply func(request []byte) []byte) func(*talker) {
	return func(k *talker) {
		if request := k.next(); request != nil {
			k.say(reply(request))
		}
	}
}

// thenHonest serves the first request with reply and the others rightly.
func thenHonest(reply func(request []byte) []byte) func(*talker) {
	return func(k *talker) {
		if request := k.next(); request != nil {
			k.say(reply(request))
			honest(k)
		}
	}
}

// right is the answer to a request for registers: each holds its own address.
func right(request []byte) []byte {
	from, count := binary.BigEndian.Uint16(request[8:]), binary.BigEndian.Uint16(request[10:])
	pdu := []byte{request[7], byte(2 * count)}
	for i := range count {
		pdu = binary.BigEndian.AppendUint16(pdu, from+i)
	}
	return withPDU(request, pdu...)
}

// withPDU frames an answer to request.
func withPDU(request []byte, pdu ...byte) []byte {
	frame := append([]byte(nil), request[:4]...)
	frame = binary.BigEndian.AppendUint16(frame, uint16(1+len(pdu)))
	return append(append(frame, request[6]), pdu...)
}

// changed is the right answer with the byte at i set to b.
func changed(i int, b byte) func([]byte) []byte {
	return func(request []byte) []byte {
		frame := right(request)
		frame[i] = b
		return frame
	}
}

// sixRegisters is what most tests ask for.
var sixRegisters = Read{Unit: 1, Function: ReadHolding, Address: 0, Count: 6}

// short is a Timeout, which fake time makes free, and patience the longest that
// it may take.
const (
	short    = 200 * time.Millisecond
	patience = short + short/8
)
