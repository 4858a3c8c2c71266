package desk

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"os"
	"time"

	"github.com/goccy/go-yaml"
	"github.com/prometheus/exporter-toolkit/web"
)

// Listen opens the address that a desk answers on. Without a web config it must
// be of this machine alone; with one, that must say who may come in.
func Listen(address, webConfig string) (net.Listener, error) {
	host, _, err := net.SplitHostPort(address)
	if err != nil {
		return nil, fmt.Errorf("%q is not HOST:PORT, such as 127.0.0.1:8460", address)
	}
	if webConfig == "" {
		if !ownName(host) {
			return nil, fmt.Errorf("%s can be reached from other machines: name who may connect with --web-config FILE, "+
				"or listen on 127.0.0.1", address)
		}
	} else if err := checkWebConfig(webConfig); err != nil {
		return nil, err
	}
	l, err := net.Listen("tcp", address)
	if err != nil {
		return nil, fmt.Errorf("%w; is the port taken, or the address not one of this machine?", err)
	}
	return l, nil
}

// checkWebConfig holds a file to what the exporters' library takes, and to a
// door: users with passwords, or certificates of clients.
func checkWebConfig(file string) error {
	src, err := os.ReadFile(file)
	if errors.Is(err, os.ErrNotExist) {
		return fmt.Errorf("%s: there is no such file", file)
	}
	if err != nil {
		return err
	}
	if err := web.Validate(file); err != nil {
		return fmt.Errorf("%s: %w", file, err)
	}
	var c struct {
		Users map[string]string `yaml:"basic_auth_users"`
		TLS   struct {
			Clients string `yaml:"client_auth_type"`
		} `yaml:"tls_server_config"`
	}
	if err := yaml.Unmarshal(src, &c); err != nil {
		return fmt.Errorf("%s: %w", file, err)
	}
	if len(c.Users) == 0 && c.TLS.Clients != "RequireAndVerifyClientCert" {
		return fmt.Errorf("%s lets everyone in: add basic_auth_users, or client_auth_type: RequireAndVerifyClientCert", file)
	}
	return nil
}

// Times of the HTTP server. Our choice.
const (
	headerWithin = 5 * time.Second
	idleWithin   = 2 * time.Minute
	endWithin    = 3 * time.Second
)

// Serve answers until ctx ends; then it ends the streams, and the questions that
// are being answered get some time.
func Serve(ctx context.Context, l net.Listener, d *Desk, webConfig string) error {
	doors := newTries()
	s := &http.Server{Handler: Handler(d, webConfig == ""), ReadHeaderTimeout: headerWithin, IdleTimeout: idleWithin,
		ErrorLog: slog.NewLogLogger(slog.DiscardHandler, slog.LevelError)}
	if webConfig != "" { // over HTTP/1.1, where each try is seen
		s.Handler, s.ConnState, s.Protocols = doors.past(s.Handler), doors.state, new(http.Protocols)
		s.Protocols.SetHTTP1(true)
	}
	ended := make(chan error, 1)
	go func() {
		if webConfig == "" {
			ended <- s.Serve(l)
			return
		}
		none := []string{}
		off := false
		ended <- web.Serve(l, s, &web.FlagConfig{WebListenAddresses: &none, WebSystemdSocket: &off,
			WebConfigFile: &webConfig}, slog.New(slog.DiscardHandler))
	}()
	select {
	case err := <-ended:
		return err
	case <-ctx.Done():
	}
	d.Close()
	within, stop := context.WithTimeout(context.Background(), endWithin)
	defer stop()
	if err := s.Shutdown(within); err != nil && !errors.Is(err, context.DeadlineExceeded) {
		return err
	}
	_ = s.Close()
	if err := <-ended; !errors.Is(err, http.ErrServerClosed) {
		return err
	}
	return nil
}
