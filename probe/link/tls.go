package link

import (
	"context"
	"crypto/tls"
	"crypto/x509"
	"errors"
	"fmt"
	"net"
)

// securePort is that of Modbus/TCP Security ("mbap/TLS/TCP", MODBUS/TCP
// Security Protocol Specification v21, Table 4).
const securePort = "802"

// DialTLS connects over Modbus/TCP Security: the frames of Modbus TCP within
// TLS 1.2 or newer, both sides with certificates. There is no way back to
// plain Modbus TCP. The error is an *Error.
func DialTLS(ctx context.Context, address string, secure *tls.Config, o Options) (*TCP, error) {
	address = withPort(address, securePort)
	host, _, _ := net.SplitHostPort(address)
	c := secure.Clone()
	c.MinVersion = max(c.MinVersion, tls.VersionTLS12)
	if c.ServerName == "" {
		c.ServerName = host
	}
	t := newTCP(address, o, func(ctx context.Context) (net.Conn, error) {
		d := tls.Dialer{Config: c}
		return d.DialContext(ctx, "tcp", address)
	})
	t.place = "tls " + address
	if _, err := t.line.connect(ctx); err != nil {
		t.line.shut()
		return nil, &Error{Op: "connect", Place: t.place, Err: err}
	}
	return t, nil
}

// tlsAdvice is the next step that a handshake which failed suggests; empty for
// any other error.
func tlsAdvice(err error) string {
	var (
		invalid x509.CertificateInvalidError
		name    x509.HostnameError
		unknown x509.UnknownAuthorityError
		record  tls.RecordHeaderError
		alert   tls.AlertError
	)
	switch {
	case errors.As(err, &name):
		return "connect by a name that stands in the meter's certificate"
	case errors.As(err, &unknown):
		return "is --ca the authority that signed the meter's certificate?"
	case errors.As(err, &invalid) && invalid.Reason == x509.Expired:
		return "the meter's certificate is over or not yet begun: check this computer's clock, then the certificate"
	case errors.As(err, &invalid):
		return "the meter's certificate can't be used for this"
	case errors.As(err, &record):
		return "this port doesn't speak TLS; plain Modbus TCP is tcp://, and is never taken instead"
	case errors.As(err, &alert):
		return fmt.Sprintf("the meter refused (%v): does it know our --cert?", alert)
	}
	return ""
}
