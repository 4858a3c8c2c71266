package link

import (
	"context"
	"errors"
	"fmt"
	"net"
	"os"
	"syscall"
	"time"
)

// advice is the next step that the cause suggests; empty where there is none.
func (e *Error) advice() string {
	if e.over == serialPort && errors.As(e.Err, new(dialError)) {
		return "" // a port's own error says what to do
	}
	if e.over != socketed {
		if step := serialAdvice(e.Err); step != "" {
			return step
		}
	}
	return advice(e.Err)
}

// serialAdvice is what differs on a serial line.
func serialAdvice(err error) string {
	var silent NoAnswer
	switch {
	case errors.As(err, &silent) && silent.Late > 0:
		return fmt.Sprintf("wait longer: --timeout %v", (2 * silent.Late).Round(10*time.Millisecond))
	case errors.As(err, &silent) && silent.Echo:
		return "the adapter hears itself, the meter is silent: check A and B, the unit number and the speed"
	case errors.As(err, &silent) && silent.Partial == 0 && silent.Stray == 0:
		return "check A and B, the common, the unit number and the meter's power; `legwork find` tries speeds and units"
	case errors.As(err, new(BadAnswer)):
		return "check speed and parity, bias and termination; `legwork line` tells more"
	case errors.As(err, new(OtherUnit)):
		return "two masters on the line, or two meters with mixed units?"
	case errors.As(err, new(lostError)):
		return "was the adapter or its cable pulled?"
	}
	return ""
}

func advice(err error) string {
	var (
		exception Exception
		silent    NoAnswer
		other     OtherUnit
	)
	switch {
	case errors.Is(err, ErrNoIdentity):
		return ""
	case errors.As(err, &exception):
		return exceptionAdvice[exception]
	case errors.As(err, &silent) && silent.Stray > 0:
		return "a longer timeout may be all it needs"
	case errors.As(err, &silent) && silent.Misnumbered > 0:
		return "the gateway numbers its answers wrongly: newer firmware, or rtu+tcp:// where it can pass RTU frames on"
	case errors.As(err, &silent):
		return "is the unit number right and the meter powered? a slow gateway needs a longer timeout"
	case errors.As(err, &other):
		return otherUnitAdvice(other)
	case errors.As(err, new(BadAnswer)):
		return "does this port speak Modbus TCP, and is it the meter's?"
	case tlsAdvice(err) != "":
		return tlsAdvice(err)
	case errors.As(err, new(lostError)):
		return "does another client hold the meter's only connection?"
	case errors.As(err, new(dialError)):
		return dialAdvice(err)
	}
	return ""
}

var exceptionAdvice = map[Exception]string{
	IllegalFunction:    "the other table, holding or input, may be the right one",
	IllegalDataAddress: "check addresses and numbering of the register map",
	IllegalDataValue:   "the meter may allow fewer registers in one request",
	ServerDeviceBusy:   "ask again later, or less often",
	GatewayPath:        "is the unit number one that the gateway serves?",
	GatewayTarget:      "the gateway works, the meter behind it is silent: check its power, its bus and the unit number",
}

func otherUnitAdvice(e OtherUnit) string {
	if e.Got == 0 || e.Got == directUnit {
		return fmt.Sprintf("a meter without a gateway may want unit %d", e.Got)
	}
	return "does the gateway mix up its meters?"
}

func dialAdvice(err error) string {
	switch {
	case errors.Is(err, connectionRefused):
		return "is the gateway's Modbus port open and no other client connected?"
	case errors.As(err, new(*net.DNSError)):
		return "is the name spelled right?"
	case ranOut(err):
		return "is the meter powered and on this network?"
	}
	return "is this computer on the meter's network?"
}

func ranOut(err error) bool {
	return errors.Is(err, context.DeadlineExceeded) || errors.Is(err, os.ErrDeadlineExceeded)
}

// plain is the cause of a network error without the library's prefixes, which
// repeat the place.
func plain(err error) string {
	var (
		name *net.DNSError
		no   syscall.Errno
		op   *net.OpError
	)
	switch {
	case errors.Is(err, connectionRefused):
		return "connection refused"
	case errors.As(err, &name):
		return name.Err
	case errors.As(err, &no):
		return no.Error()
	case errors.As(err, &op):
		return op.Err.Error()
	}
	return err.Error()
}
