package source

import (
	"errors"
	"fmt"
	"net"
	"net/netip"
	"regexp"
	"strconv"
	"strings"
)

// parseShort takes a METER in short apart: a serial port, a host, or a host with
// a port. It looks at no file.
func (a Address) parseShort() (Address, error) {
	if port, is := PortName(a.Text); is {
		a.Kind, a.Port.Port = BarePort, port
		return a, nil
	}
	host, port, err := hostAndPort(a.Text)
	switch {
	case err != nil:
		return a, fmt.Errorf("%q: %w; %s", a.Text, err, forms)
	case port == "":
		a.Kind, a.Host = BareHost, host
	default:
		a.Kind, a.Host = BareHost, net.JoinHostPort(host, port)
	}
	return a, nil
}

// Short reports a METER that leaves out how its meter is spoken to.
func (a Address) Short() bool { return a.Kind == BarePort || a.Kind == BareHost }

// Place is the port or the host that a METER leads to.
func (a Address) Place() string {
	if a.Host != "" {
		return a.Host
	}
	return a.Port.Port
}

// Names of serial ports: Windows numbers them, Linux and macOS keep them under
// /dev, where most begin with tty or cu.
var (
	numberedPort = regexp.MustCompile(`^(?i:COM)[1-9][0-9]{0,4}$`)
	devicePort   = regexp.MustCompile(`^(tty[A-Z]|tty\.|cu\.)[\w.-]*$`)
)

// PortName is the serial port that a text names, as the system calls it.
func PortName(text string) (name string, is bool) {
	switch {
	case numberedPort.MatchString(text):
		return strings.ToUpper(text), true
	case devicePort.MatchString(text):
		return "/dev/" + text, true
	}
	return text, strings.HasPrefix(text, "/dev/") && len(text) > len("/dev/")
}

// hostLabel is a part of a host's name between dots (RFC 1123, 2.1), and the
// underscore, which some networks have.
var hostLabel = regexp.MustCompile(`^[A-Za-z0-9_]([A-Za-z0-9_-]{0,61}[A-Za-z0-9_])?$`)

var errNoHost = errors.New("this is no port and no host")

// hostAndPort takes HOST and HOST:PORT apart; an address of IPv6 that has a port
// stands in brackets.
func hostAndPort(text string) (host, port string, err error) {
	if _, err := netip.ParseAddr(text); err == nil {
		return text, "", nil
	}
	host = text
	if strings.ContainsAny(text, ":[") {
		if host, port, err = net.SplitHostPort(text); err != nil {
			return "", "", errNoHost
		}
		if n, err := strconv.Atoi(port); err != nil || n < 1 || n > 65535 {
			return "", "", fmt.Errorf("port %q is not from 1 to 65535", port)
		}
		if _, err := netip.ParseAddr(host); err == nil {
			return host, port, nil
		}
	}
	labels := strings.Split(strings.TrimSuffix(host, "."), ".")
	for _, l := range labels {
		if !hostLabel.MatchString(l) {
			return "", "", errNoHost
		}
	}
	if _, err := strconv.Atoi(labels[len(labels)-1]); err == nil {
		return "", "", errNoHost // no domain is a number (RFC 3696, 2); this is a broken address
	}
	return host, port, nil
}
