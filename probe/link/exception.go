package link

import "fmt"

// Exception is the code with which a meter or a gateway refuses a request
// (MODBUS Application Protocol V1.1b3, 7).
type Exception byte

// The exception codes.
const (
	IllegalFunction     Exception = 0x01
	IllegalDataAddress  Exception = 0x02
	IllegalDataValue    Exception = 0x03
	ServerDeviceFailure Exception = 0x04
	Acknowledge         Exception = 0x05
	ServerDeviceBusy    Exception = 0x06
	MemoryParityError   Exception = 0x08
	GatewayPath         Exception = 0x0A
	GatewayTarget       Exception = 0x0B
)

// Error is the standard's name of the code.
func (e Exception) Error() string {
	name, ok := exceptionNames[e]
	if !ok {
		name = "a code that the standard does not have"
	}
	return fmt.Sprintf("exception %d (%s)", byte(e), name)
}

var exceptionNames = map[Exception]string{
	IllegalFunction:     "illegal function",
	IllegalDataAddress:  "illegal data address",
	IllegalDataValue:    "illegal data value",
	ServerDeviceFailure: "server device failure",
	Acknowledge:         "acknowledge",
	ServerDeviceBusy:    "server device busy",
	MemoryParityError:   "memory parity error",
	GatewayPath:         "gateway path unavailable",
	GatewayTarget:       "gateway target device failed to respond",
}

// passing reports whether the same request may well be answered a little later.
func (e Exception) passing() bool {
	return e == Acknowledge || e == ServerDeviceBusy || e == GatewayTarget
}
