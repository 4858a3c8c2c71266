package source

import (
	"crypto/tls"
	"crypto/x509"
	"fmt"
	"time"

	"legwork/probe/link"
)

// secure makes what Modbus/TCP Security needs of its files: an authority that
// signed the meter's certificate, and a certificate and key of ours, since both
// sides show one (MODBUS/TCP Security Protocol Specification v21, Table 4).
func secure(o Options) (*tls.Config, error) {
	pool, pair, err := certificates("tls://", o)
	if err != nil {
		return nil, err
	}
	return &tls.Config{RootCAs: pool, Certificates: []tls.Certificate{pair}, ServerName: o.ServerName}, nil
}

// SecureServer is the other side, for a simulated meter: it asks for a
// certificate that the authority signed.
func SecureServer(ca, cert, key string) (*tls.Config, error) {
	pool, pair, err := certificates("--tls-listen", Options{CA: ca, Cert: cert, Key: key})
	if err != nil {
		return nil, err
	}
	return &tls.Config{ClientCAs: pool, ClientAuth: tls.RequireAndVerifyClientCert,
		Certificates: []tls.Certificate{pair}, MinVersion: tls.VersionTLS12}, nil
}

// certificates reads an authority, and a certificate with its key that holds
// today, for who needs them.
func certificates(who string, o Options) (*x509.CertPool, tls.Certificate, error) {
	var none tls.Certificate
	if o.CA == "" || o.Cert == "" || o.Key == "" {
		return nil, none, fmt.Errorf("%s needs --ca FILE, --cert FILE and --key FILE: both sides show a certificate", who)
	}
	authority, err := ReadFile(o.CA)
	if err != nil {
		return nil, none, fmt.Errorf("--ca %w", err)
	}
	pool := x509.NewCertPool()
	if !pool.AppendCertsFromPEM(authority) {
		return nil, none, fmt.Errorf("--ca %s: there is no certificate in PEM in it", o.CA)
	}
	cert, err := ReadFile(o.Cert)
	if err != nil {
		return nil, none, fmt.Errorf("--cert %w", err)
	}
	if err := link.CheckKeyFile(o.Key); err != nil {
		return nil, none, fmt.Errorf("--key %w", err)
	}
	key, err := ReadFile(o.Key)
	if err != nil {
		return nil, none, fmt.Errorf("--key %w", err)
	}
	pair, err := tls.X509KeyPair(cert, key)
	if err != nil {
		return nil, none, fmt.Errorf("--cert %s and --key %s: %w", o.Cert, o.Key, err)
	}
	if now := time.Now(); now.After(pair.Leaf.NotAfter) || now.Before(pair.Leaf.NotBefore) {
		return nil, none, fmt.Errorf("--cert %s holds from %s to %s, and today is %s; a new one is due", o.Cert,
			pair.Leaf.NotBefore.Format(time.DateOnly), pair.Leaf.NotAfter.Format(time.DateOnly), now.Format(time.DateOnly))
	}
	return pool, pair, nil
}
