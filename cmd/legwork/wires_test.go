package main

import (
	"bufio"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/pem"
	"fmt"
	"io"
	"math/big"
	"os"
	"os/exec"
	"strings"
	"time"

	"github.com/rogpeppe/go-internal/testscript"

	"legwork/cmd/legwork/internal/source"
	"legwork/sim/serve"
)

// simulate runs `legwork sim ARGS` until the script ends, and sets METER to what
// reads it, METER2 to the second where there are two, and PORT to the name of a
// serial port or HOST:PORT.
func simulate(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) == 0 {
		ts.Fatalf("usage: simulate NAME [FLAG...]")
	}
	self, err := os.Executable()
	ts.Check(err)
	cmd := exec.Command(self)
	cmd.Args = append([]string{"legwork", "sim"}, args...)
	cmd.Dir = ts.MkAbs(".")
	stdout, err := cmd.StdoutPipe()
	ts.Check(err)
	stderr, err := cmd.StderrPipe()
	ts.Check(err)
	ts.Check(cmd.Start())
	ts.Defer(func() {
		_ = cmd.Process.Kill()
		_ = cmd.Wait()
	})
	// METERs are written before the line on standard error, and at once.
	if line, err := bufio.NewReader(stderr).ReadString('\n'); err != nil || !strings.Contains(line, "interrupt to end") {
		ts.Fatalf("legwork sim %v: %s %v", args, line, err)
	}
	go func() { _, _ = io.Copy(io.Discard, stderr) }()
	out := bufio.NewReader(stdout)
	for i := 1; i == 1 || out.Buffered() > 0; i++ {
		line, err := out.ReadString('\n')
		ts.Check(err)
		name := "METER"
		if i > 1 {
			name = fmt.Sprint("METER", i)
		}
		ts.Setenv(name, strings.TrimSpace(line))
	}
	ts.Setenv("PORT", bare(ts.Getenv("METER")))
}

// certificates writes PEM files for both sides of Modbus/TCP Security: ca, which
// signs meter (for kiln.example), elsewhere (for another name),
// over (not valid any more) and bench; and strange-ca, which signs strange.
func certificates(ts *testscript.TestScript, _ bool, _ []string) {
	ca := newSigner(ts, "ca")
	for name, hosts := range map[string][]string{"meter": {"kiln.example"}, "elsewhere": {"boathouse.example"},
		"bench": {"bench"}} {
		ca.sign(name, time.Hour, hosts...)
	}
	ca.sign("over", -time.Hour, "kiln.example")
	newSigner(ts, "strange-ca").sign("strange", time.Hour, "kiln.example")
}

type signer struct {
	ts   *testscript.TestScript
	cert *x509.Certificate
	key  *ecdsa.PrivateKey
}

func newSigner(ts *testscript.TestScript, name string) *signer {
	s := &signer{ts: ts}
	s.cert, s.key = s.issue(name, &x509.Certificate{IsCA: true, BasicConstraintsValid: true,
		KeyUsage: x509.KeyUsageCertSign}, time.Hour)
	return s
}

func (s *signer) sign(name string, until time.Duration, hosts ...string) {
	s.issue(name, &x509.Certificate{DNSNames: hosts,
		ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth, x509.ExtKeyUsageClientAuth}}, until)
}

// issue makes a certificate and writes it as NAME.pem, its key as NAME.key.
func (s *signer) issue(name string, c *x509.Certificate, until time.Duration) (*x509.Certificate, *ecdsa.PrivateKey) {
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	s.ts.Check(err)
	c.Subject, c.SerialNumber = pkix.Name{CommonName: name}, big.NewInt(time.Now().UnixNano())
	c.NotBefore, c.NotAfter = time.Now().Add(-48*time.Hour), time.Now().Add(until)
	parent, by := s.cert, s.key
	if parent == nil {
		parent, by = c, key
	}
	der, err := x509.CreateCertificate(rand.Reader, c, parent, key.Public(), by)
	s.ts.Check(err)
	secret, err := x509.MarshalPKCS8PrivateKey(key)
	s.ts.Check(err)
	s.write(name+".pem", "CERTIFICATE", der)
	s.write(name+".key", "PRIVATE KEY", secret)
	made, err := x509.ParseCertificate(der)
	s.ts.Check(err)
	return made, key
}

func (s *signer) write(name, kind string, der []byte) {
	s.ts.Check(os.WriteFile(s.ts.MkAbs(name), pem.EncodeToMemory(&pem.Block{Type: kind, Bytes: der}), 0o600))
}

// listenLine serves a place as a converter does, and gives its address.
func listenLine(served *source.Served) (string, error) {
	at, err := served.Server.ListenRTU("127.0.0.1:0", serve.Line{})
	if err != nil {
		return "", err
	}
	return at.String(), nil
}
