package link

import (
	"context"
	"fmt"
	"net"
	"time"
)

// Function is the Modbus function with which registers are read. There are
// two, and no other value can be sent.
type Function byte

// The functions (MODBUS Application Protocol V1.1b3, 6.3 and 6.4).
const (
	ReadHolding Function = 3 // holding registers
	ReadInput   Function = 4 // input registers
)

// String names the table that the function reads.
func (f Function) String() string {
	switch f {
	case ReadHolding:
		return "holding"
	case ReadInput:
		return "input"
	}
	return fmt.Sprintf("function %d", byte(f))
}

// MaxRegisters is the most registers that one request can ask for
// (MODBUS Application Protocol V1.1b3, 6.3 and 6.4).
const MaxRegisters = 125

// Read asks one unit for consecutive registers.
type Read struct {
	Unit     byte
	Function Function
	Address  uint16 // as on the wire, from 0
	Count    uint16 // 1 to MaxRegisters
}

// String says what is read, as errors show it: "unit 1, holding registers 0-5".
func (r Read) String() string {
	last := int(r.Address) + int(r.Count) - 1
	if r.Count <= 1 {
		return fmt.Sprintf("unit %d, %s register %d", r.Unit, r.Function, r.Address)
	}
	return fmt.Sprintf("unit %d, %s registers %d-%d", r.Unit, r.Function, r.Address, last)
}

// Conn is a way to one or more meters. It may be used by several goroutines at
// once; requests go one after the other.
type Conn interface {
	// Registers reads r.Count registers in one transaction. The error is an
	// *Error; an answer of the meter that refuses is an Exception within it.
	Registers(ctx context.Context, r Read) ([]uint16, error)
	// Identify asks the unit who it is. The error is an *Error, around
	// ErrNoIdentity when the meter doesn't tell.
	Identify(ctx context.Context, unit byte) (Identity, error)
	// Close ends the connection and every request in flight.
	Close() error
}

// Counted is a Conn that tells how well it does.
type Counted interface {
	Conn
	Counts() Counts
}

// Identity is what a meter says of itself (function 43/14). Each text is made
// printable; it is empty when the meter left it out.
type Identity struct {
	Vendor, Product, Revision string

	Objects map[byte]string // every object that was sent, by its number
}

// Options set how patient a link is. The zero value is useful.
type Options struct {
	Timeout     time.Duration // for one answer, and up to an eighth more; 0 is 1 s
	DialTimeout time.Duration // to connect; 0 is 3 s
	Retries     int           // further tries when there is no usable answer; 0 is none

	// LaxUnit also takes an answer that carries unit 0 or 255, which some
	// directly connected meters send whatever the request said.
	LaxUnit bool

	// Shared says that several meters share a connection of Modbus TCP, so that
	// the silence of one says nothing against it. Else it is made anew after a
	// silence: it may be half dead.
	Shared bool

	// Dial makes the connections of a network, to "host:port"; nil is the
	// system's own. Nothing of it is used for a serial port.
	Dial func(ctx context.Context, address string) (net.Conn, error)
}

// The default Timeout is common practice, no source. That of connecting leaves
// room for one lost packet, which is sent again after 1 s (RFC 6298, 2.1).
const (
	defaultTimeout     = time.Second
	defaultDialTimeout = 3 * time.Second
)

func (o Options) withDefaults() Options {
	if o.Timeout <= 0 {
		o.Timeout = defaultTimeout
	}
	if o.DialTimeout <= 0 {
		o.DialTimeout = defaultDialTimeout
	}
	if o.Dial == nil {
		o.Dial = dialSystem
	}
	return o
}

func dialSystem(ctx context.Context, address string) (net.Conn, error) {
	var d net.Dialer
	return d.DialContext(ctx, "tcp", address)
}
