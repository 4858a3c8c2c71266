// Package link is how bytes get to a meter and back: Modbus TCP, the same
// within TLS (Modbus/TCP Security), and RTU on a serial port or through a
// converter that passes its frames on (RTU over TCP).
//
// It stands at the head of the flow (bytes, registers, readings, evidence,
// verdict) and imports none of the other rooms. It asks for registers and for
// a meter's identification, and it can do nothing else: the three function
// codes 3, 4 and 43/14 are all it can put on a wire, since requests are built
// here from a closed set and no exported name takes a request as bytes.
//
// The Modbus library is the packager only: it writes and opens frames. What it
// does with a connection is not used, because after a late answer it stays one
// transaction behind for good, never reconnects, knows no context, and takes
// an answer of any length. So here:
//
//   - each answer is checked against its request: transaction, unit, function,
//     byte count; an answer to an earlier request is dropped and waiting goes on;
//   - lengths are bounded before the packager sees a frame;
//   - over TCP, after any error but a Modbus exception the connection is dropped
//     and made anew, with a growing pause while that keeps failing. Only the
//     tries of one request share a connection, since a transaction number tells
//     a late answer from the one that is waited for;
//   - on a serial line, which has no such number, the line is listened to after
//     a time-out until a late answer has come or can't come any more, the answer
//     is looked for at any place among what came, and the rest is sorted out and
//     counted: echoes, noise, frames of others;
//   - a context ends a request at once, and where a driver is in the way within
//     half a second.
//
// A file each: what is asked and answered (pdu.go), tries and counts (ask.go),
// the connection that is made anew (upkeep.go). For TCP the frame (frame.go),
// its stream (stream.go) and what ties them together (tcp.go, tls.go). For RTU
// the frame (rtuframe.go), what stands beside it (strays.go), silence and late
// answers (settle.go), the exchange (rtu.go), and the wires (wire.go): a serial
// port (serial.go, port.go), a socket (socket.go, and visit_unix.go, which TCP
// uses too), anything else (pump.go). Calls on a serial port that the system never
// comes back from are left by guard.go and kept count of in leftcalls.go. Ports of
// this machine are listed in ports.go.
//
// What it can't do: no function but those three, and one request at a time on a
// connection. A doubled answer that comes after the next request of the same
// length can't be told from that one's on a serial line.
package link
