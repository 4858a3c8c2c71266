package link

import (
	"context"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"io"
	"math/big"
	"net"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"legwork/probe/regmap"
	"legwork/sim/serve"
)

// authority signs certificates that are made for one test.
type authority struct {
	t    *testing.T
	cert *x509.Certificate
	key  *ecdsa.PrivateKey
}

func newAuthority(t *testing.T, name string) *authority {
	a := &authority{t: t}
	cert, key := a.make(&x509.Certificate{Subject: pkix.Name{CommonName: name}, IsCA: true,
		BasicConstraintsValid: true, KeyUsage: x509.KeyUsageCertSign}, time.Hour)
	a.cert, a.key = cert, key
	return a
}

// make signs a certificate that holds until the time given from now, below zero
// for one that is over. The first one of an authority signs itself.
func (a *authority) make(c *x509.Certificate, until time.Duration) (*x509.Certificate, *ecdsa.PrivateKey) {
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	require.NoError(a.t, err)
	c.SerialNumber, err = rand.Int(rand.Reader, big.NewInt(1<<62))
	require.NoError(a.t, err)
	c.NotBefore, c.NotAfter = time.Now().Add(-48*time.Hour), time.Now().Add(until)
	parent, signer := a.cert, a.key
	if parent == nil {
		parent, signer = c, key
	}
	der, err := x509.CreateCertificate(rand.Reader, c, parent, key.Public(), signer)
	require.NoError(a.t, err)
	made, err := x509.ParseCertificate(der)
	require.NoError(a.t, err)
	return made, key
}

// pair is a certificate for a name and both uses, with its key.
func (a *authority) pair(name string, until time.Duration) tls.Certificate {
	cert, key := a.make(&x509.Certificate{Subject: pkix.Name{CommonName: name}, DNSNames: []string{name},
		ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth, x509.ExtKeyUsageClientAuth}}, until)
	return tls.Certificate{Certificate: [][]byte{cert.Raw}, PrivateKey: key, Leaf: cert}
}

func (a *authority) pool() *x509.CertPool {
	p := x509.NewCertPool()
	p.AddCert(a.cert)
	return p
}

// server is a meter's side: it wants a certificate that a signed.
func (a *authority) server(cert tls.Certificate) *tls.Config {
	return &tls.Config{ClientCAs: a.pool(), ClientAuth: tls.RequireAndVerifyClientCert, Certificates: []tls.Certificate{cert}, MinVersion: tls.VersionTLS12}
}

// client is ours: it wants a meter that a vouches for.
func (a *authority) client(certs ...tls.Certificate) *tls.Config {
	return &tls.Config{RootCAs: a.pool(), Certificates: certs, ServerName: "kiln.example"}
}

// tapped keeps what is sent.
type tapped struct {
	net.Conn
	mu   sync.Mutex
	sent []byte
}

func (c *tapped) Write(b []byte) (int, error) {
	c.mu.Lock()
	c.sent = append(c.sent, b...)
	c.mu.Unlock()
	return c.Conn.Write(b)
}

// taps dials and keeps every connection.
type taps struct {
	mu  sync.Mutex
	all []*tapped
}

func (p *taps) dial(ctx context.Context, address string) (net.Conn, error) {
	conn, err := dialSystem(ctx, address)
	if err != nil {
		return nil, err
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	p.all = append(p.all, &tapped{Conn: conn})
	return p.all[len(p.all)-1], nil
}

// requireRecords requires that all that was sent are records of TLS: type 20 to
// 23, version 3.x, length (RFC 8446, 5.1). The last one may be cut.
func (p *taps) requireRecords(t *testing.T) {
	p.mu.Lock()
	defer p.mu.Unlock()
	require.NotEmpty(t, p.all)
	for _, c := range p.all {
		c.mu.Lock()
		rest := c.sent
		c.mu.Unlock()
		for len(rest) > 0 {
			require.GreaterOrEqual(t, len(rest), 5)
			require.Contains(t, []byte{20, 21, 22, 23}, rest[0])
			require.EqualValues(t, 3, rest[1])
			size := 5 + int(rest[3])<<8 + int(rest[4])
			rest = rest[min(size, len(rest)):]
		}
	}
}

func sevens() map[byte]*serve.Unit {
	bank := serve.NewBank()
	bank.Update(func(w serve.Writer) { w.SetWords(regmap.Holding, 0, []uint16{7, 7, 7, 7, 7, 7}) })
	return map[byte]*serve.Unit{1: {Bank: bank, Identity: []string{"Tidewater", "K3", "1.0"}}}
}

// serveTLS serves one configuration and gives its address.
func serveTLS(t *testing.T, c *tls.Config) (*serve.Server, string) {
	s := serve.New(sevens())
	t.Cleanup(func() { _ = s.Close() })
	at, err := s.ListenTLS("127.0.0.1:0", c)
	require.NoError(t, err)
	return s, at.String()
}

func TestSecureMeterIsRead(t *testing.T) {
	a := newAuthority(t, "Tidewater")
	for name, version := range map[string]uint16{"TLS 1.2": tls.VersionTLS12, "TLS 1.3": tls.VersionTLS13} {
		t.Run(name, func(t *testing.T) {
			config := a.server(a.pair("kiln.example", time.Hour))
			config.MaxVersion = version
			s, address := serveTLS(t, config)
			var sent taps
			c, err := DialTLS(t.Context(), address, a.client(a.pair("bench", time.Hour)), Options{Dial: sent.dial})
			require.NoError(t, err)
			words, err := c.Registers(t.Context(), sixRegisters)
			require.NoError(t, err)
			require.Equal(t, []uint16{7, 7, 7, 7, 7, 7}, words)
			id, err := c.Identify(t.Context(), 1)
			require.NoError(t, err)
			require.Equal(t, "K3", id.Product)
			require.NoError(t, c.Close())
			sent.requireRecords(t)
			require.Equal(t, map[byte]int{3: 1, 43: 1}, s.Counts().Functions)
		})
	}
}

// What must not be read, why, and what to do: with TLS 1.3 a refused
// certificate of ours shows only at the first answer.
func TestSecureMeterThatIsNotTrusted(t *testing.T) {
	ours, theirs := newAuthority(t, "Tidewater"), newAuthority(t, "somebody else")
	bench, kiln := ours.pair("bench", time.Hour), ours.pair("kiln.example", time.Hour)
	refused := []string{"tls: ", "is our --cert signed by the authority that it knows"}
	tests := []struct {
		name   string
		server *tls.Config
		client *tls.Config
		want   []string // parts of the error; of one with bars, any
	}{
		{"the meter's certificate is over", ours.server(ours.pair("kiln.example", -time.Hour)), ours.client(bench),
			[]string{"certificate has expired or is not yet valid", "check this computer's clock"}},
		{"another name", ours.server(ours.pair("boathouse.example", time.Hour)), ours.client(bench),
			[]string{"boathouse.example", "--server-name"}},
		{"an authority that we don't know", ours.server(theirs.pair("kiln.example", time.Hour)), ours.client(bench),
			[]string{"unknown authority", "is --ca the authority"}},
		{"we show no certificate", ours.server(kiln), ours.client(), refused},
		{"we show one that the meter doesn't know", ours.server(kiln), ours.client(theirs.pair("bench", time.Hour)), refused},
		{"ours is over", ours.server(kiln), ours.client(ours.pair("bench", -time.Hour)), refused},
		{"nothing newer than TLS 1.1", &tls.Config{Certificates: []tls.Certificate{kiln}, MinVersion: tls.VersionTLS10, MaxVersion: tls.VersionTLS11}, ours.client(bench),
			[]string{"protocol version", "nothing older is taken"}},
	}
	for _, test := range tests {
		for _, version := range []uint16{tls.VersionTLS12, tls.VersionTLS13} {
			t.Run(test.name+", "+tls.VersionName(version), func(t *testing.T) {
				config := test.server.Clone()
				if config.MaxVersion == 0 {
					config.MaxVersion = version
				}
				s, address := serveTLS(t, config)
				var sent taps
				err := readSecure(t, address, test.client, Options{Dial: sent.dial, Timeout: 2 * time.Second})
				require.ErrorContains(t, err, "tls "+address+": ")
				for _, part := range test.want {
					requireOneOf(t, err.Error(), part)
				}
				require.NotContains(t, err.Error(), "\n")
				sent.requireRecords(t)
				require.Empty(t, s.Counts().Functions)
			})
		}
	}
}

// readSecure connects and asks once; the error is of either.
func readSecure(t *testing.T, address string, config *tls.Config, o Options) error {
	c, err := DialTLS(t.Context(), address, config, o)
	if err != nil {
		return err
	}
	defer c.Close()
	_, err = c.Registers(t.Context(), sixRegisters)
	return err
}

func requireOneOf(t *testing.T, text, bars string) {
	t.Helper()
	for _, one := range strings.Split(bars, "|") {
		if strings.Contains(text, one) {
			return
		}
	}
	require.Contains(t, text, bars)
}

// A port without TLS is never spoken to in plain Modbus: not by what comes of
// one try, nor of several.
func TestNoWayBackToPlainModbus(t *testing.T) {
	a := newAuthority(t, "Tidewater")
	modbusServer := serve.New(sevens())
	t.Cleanup(func() { _ = modbusServer.Close() })
	plainly, err := modbusServer.ListenTCP("127.0.0.1:0")
	require.NoError(t, err)
	tests := []struct {
		name, address string
		want          string
	}{
		{"a Modbus server without TLS", plainly.String(), "closed the connection before there was TLS; does this port speak TLS?"},
		{"a server of text", talkative(t), "first record does not look like a TLS handshake; does this port speak TLS?"},
		{"a server that is silent", silent(t), "connected, and no TLS in time; does this port speak TLS?"},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			var sent taps
			for range 3 {
				err := readSecure(t, test.address, a.client(a.pair("bench", time.Hour)), Options{Dial: sent.dial, DialTimeout: 300 * time.Millisecond, Retries: 2})
				require.ErrorContains(t, err, test.want)
			}
			sent.requireRecords(t)
		})
	}
	require.Empty(t, modbusServer.Counts().Functions)
}

func talkative(t *testing.T) string {
	return listening(t, func(conn net.Conn) { _, _ = conn.Write([]byte("HTTP/1.1 400 Bad Request\r\n\r\n")) })
}

func silent(t *testing.T) string { return listening(t, func(net.Conn) {}) }

// listening says something to whoever comes, and reads on.
func listening(t *testing.T, say func(net.Conn)) string {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	t.Cleanup(func() { _ = l.Close() })
	go func() {
		for {
			conn, err := l.Accept()
			if err != nil {
				return
			}
			go func() {
				say(conn)
				_, _ = io.Copy(io.Discard, conn)
				_ = conn.Close()
			}()
		}
	}()
	return l.Addr().String()
}

// A connection that broke is made anew as TLS, or not at all.
func TestSecureConnectionIsMadeAnewSecurely(t *testing.T) {
	a := newAuthority(t, "Tidewater")
	s, address := serveTLS(t, a.server(a.pair("kiln.example", time.Hour)))
	s.Spoil(serve.NewMischief(map[serve.Prank]float64{serve.Closed: 0.5}, 3))
	var sent taps
	c, err := DialTLS(t.Context(), address, a.client(a.pair("bench", time.Hour)), Options{Dial: sent.dial, Retries: 8})
	require.NoError(t, err)
	defer c.Close()
	for range 10 {
		_, err = c.Registers(t.Context(), sixRegisters)
		require.NoError(t, err)
	}
	require.Positive(t, c.Counts().Redials)
	sent.requireRecords(t)
}
