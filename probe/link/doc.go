// Package link is how bytes get to a meter and back: Modbus over TCP.
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
//   - after any error but a Modbus exception the connection is dropped and made
//     anew, with a growing pause while that keeps failing. Only the tries of
//     one request share a connection, since a transaction number tells a late
//     answer from the one that is waited for;
//   - a context ends a request at once, and with it the connection.
//
// A file each: what is asked and answered (pdu.go), the frame (frame.go), the
// byte stream that is redialled (stream.go), tries and counts (ask.go), and
// TCP, which ties them together (tcp.go). Another framing needs a function
// that cuts a frame, and an exchange.
//
// What it can't do: no function but those three, no serial line, no TLS, and
// one request at a time on a connection.
package link
