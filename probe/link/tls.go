package link

import (
	"cmp"
	"context"
	"crypto/tls"
	"crypto/x509"
	"errors"
	"fmt"
	"io"
	"net"
	"strings"
)

// securePort is that of Modbus/TCP Security ("mbap/TLS/TCP", MODBUS/TCP
// Security Protocol Specification v21, Table 4).
const securePort = "802"

// DialTLS connects over Modbus/TCP Security: the frames of Modbus TCP within
// TLS 1.2 or newer, both sides with certificates. There is no way back to
// plain Modbus TCP. The error is an *Error.
func DialTLS(ctx context.Context, address string, secure *tls.Config, o Options) (*TCP, error) {
	address, o = withPort(address, securePort), o.withDefaults()
	host, _, _ := net.SplitHostPort(address)
	c := secure.Clone()
	c.MinVersion = max(c.MinVersion, tls.VersionTLS12)
	c.ServerName = cmp.Or(c.ServerName, host)
	t := newTCP(address, o, func(ctx context.Context) (net.Conn, error) {
		conn, err := o.Dial(ctx, address)
		if err != nil {
			return nil, err
		}
		return shakeHands(ctx, conn, c)
	})
	t.place = "tls " + address
	return t.opened(ctx)
}

// shakeHands makes TLS of a connection, or closes it.
func shakeHands(ctx context.Context, conn net.Conn, c *tls.Config) (net.Conn, error) {
	secured := tls.Client(conn, c)
	if err := secured.HandshakeContext(ctx); err != nil {
		_ = conn.Close()
		return nil, handshakeError{err}
	}
	return secured, nil
}

// handshakeError says that there is a connection and no TLS on it.
type handshakeError struct{ err error }

func (e handshakeError) Error() string {
	var invalid x509.CertificateInvalidError
	switch {
	case ranOut(e.err):
		return "connected, and no TLS in time"
	case errors.Is(e.err, io.EOF), errors.Is(e.err, io.ErrClosedPipe):
		return "the other side closed the connection before there was TLS"
	case errors.As(e.err, &invalid):
		return invalid.Error() // without which curve and which chain
	}
	return plain(e.err)
}

func (e handshakeError) Unwrap() error { return e.err }

// noTLS is for a port that may have no TLS at all.
const noTLS = "does this port speak TLS? plain Modbus TCP is tcp://, and is never taken instead"

// tlsAdvice is the next step that trouble with TLS suggests; empty for any
// other error.
func tlsAdvice(err error) string {
	var invalid x509.CertificateInvalidError
	switch {
	case errors.As(err, new(x509.HostnameError)):
		return "name the meter as its certificate does, in METER or by --server-name"
	case errors.As(err, new(x509.UnknownAuthorityError)):
		return "is --ca the authority that signed the meter's certificate?"
	case errors.As(err, &invalid) && invalid.Reason == x509.Expired:
		return "the meter's certificate is over or not yet begun: check this computer's clock, then the certificate"
	case errors.As(err, &invalid):
		return "the meter's certificate can't be used for this"
	case errors.As(err, new(tls.RecordHeaderError)):
		return noTLS
	case refusedByAlert(err) != "":
		return refusedByAlert(err)
	case errors.As(err, new(handshakeError)):
		return noTLS
	}
	return ""
}

// refusedByAlert is the next step where the other side ended TLS by an alert;
// empty where it didn't. The library has no type for alerts: they are the cause
// of a net.OpError whose Op is "remote error", and tell themselves by text.
func refusedByAlert(err error) string {
	var op *net.OpError
	if !errors.As(err, &op) || op.Op != "remote error" {
		return ""
	}
	if strings.Contains(op.Err.Error(), "protocol version") {
		return "the meter has no TLS 1.2 or newer, and nothing older is taken: it needs newer firmware"
	}
	return fmt.Sprintf("the meter refused us (%v): is our --cert signed by the authority that it knows, and does it still hold?", op.Err)
}
