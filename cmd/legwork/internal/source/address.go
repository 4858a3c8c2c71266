package source

import (
	"fmt"
	"net"
	"net/url"
	"path/filepath"
	"strconv"
	"strings"

	"legwork/probe/link"
)

// Kind is a form of METER.
type Kind uint8

// The forms.
const (
	TCP        Kind = iota + 1 // tcp://HOST[:502][/UNIT]
	TLS                        // tls://HOST[:802][/UNIT]
	RTU                        // rtu:///dev/ttyUSB0?baud=...&parity=...&stop=...&unit=..., rtu://COM5?...
	RTUOverTCP                 // rtu+tcp://HOST:PORT[/UNIT]
	Sim                        // sim:NAME[?fault=...&seed=N]
	Capture                    // FILE.jsonl, FILE.csv or -
	Job                        // FILE.yaml, a job sheet that names one of the others
	PromQL                     // promql+http://HOST:PORT/NAME?from=-24h&to=now
	BarePort                   // /dev/ttyUSB0, ttyUSB0, COM5: the rest is looked for
	BareHost                   // HOST, HOST:PORT: the rest is looked for
)

// Address is a METER, taken apart.
type Address struct {
	Kind  Kind
	Text  string // as it was given
	Host  string // of a network: host:port
	Port  link.Serial
	Unit  int    // 0 where it isn't named
	Name  string // Sim: the place; Capture: the file, or -; Job: the file
	Fault string
	Seed  uint64
}

// forms is what an argument that is no METER is answered with.
const forms = "a METER is tcp://HOST/UNIT, rtu:///dev/ttyUSB0?baud=9600&unit=1 or rtu://COM5?..., " +
	"rtu+tcp://HOST:PORT/UNIT, in short ttyUSB0, COM5, HOST or HOST:PORT, " +
	"tls://HOST/UNIT, sim:NAME, a capture FILE.jsonl or FILE.csv, - for standard input, or a job sheet FILE.yaml"

// Parse takes a METER apart. The error says what would be right.
func Parse(text string) (Address, error) {
	a := Address{Text: text}
	scheme, rest, found := strings.Cut(text, ":")
	switch {
	case text == "-":
		a.Kind, a.Name = Capture, "-"
		return a, nil
	case found && scheme == "sim":
		return a.parseSim(rest)
	case found && networks[scheme] != 0 && strings.HasPrefix(rest, "//"):
		a.Kind = networks[scheme]
		return a.parseHost(scheme)
	case found && scheme == "rtu" && strings.HasPrefix(rest, "//"):
		a.Kind = RTU
		return a.parsePort(rest[2:])
	case strings.HasPrefix(text, "promql+http://"), strings.HasPrefix(text, "promql+https://"):
		return a.parsePromQL()
	case strings.Contains(text, "://"):
		return a, fmt.Errorf("%q: %s", text, forms)
	}
	switch strings.ToLower(filepath.Ext(text)) {
	case ".jsonl", ".csv":
		a.Kind, a.Name = Capture, text
		return a, nil
	case ".yaml", ".yml":
		a.Kind, a.Name = Job, text
		return a, nil
	}
	return a.parseShort()
}

func (a Address) parseSim(rest string) (Address, error) {
	a.Kind = Sim
	name, query, _ := strings.Cut(rest, "?")
	a.Name = name
	if name == "" {
		return a, fmt.Errorf("%q names no place; `legwork sim` lists them", a.Text)
	}
	values, err := url.ParseQuery(query)
	if err != nil {
		return a, fmt.Errorf("%q: what follows the question mark can't be read; write ?fault=...&seed=N", a.Text)
	}
	for key, v := range values {
		switch key {
		case "fault":
			a.Fault = strings.Join(v, ",")
		case "seed":
			if a.Seed, err = strconv.ParseUint(v[len(v)-1], 10, 64); err != nil {
				return a, fmt.Errorf("%q: seed %q is not a whole number from 0", a.Text, v[len(v)-1])
			}
		default:
			return a, fmt.Errorf("%q: %q is not known here; there are fault and seed", a.Text, key)
		}
	}
	return a, nil
}

var networks = map[string]Kind{"tcp": TCP, "tls": TLS, "rtu+tcp": RTUOverTCP}

func (a Address) parseHost(scheme string) (Address, error) {
	u, err := url.Parse(a.Text)
	if err != nil || u.Hostname() == "" || u.RawQuery != "" || u.User != nil || u.Fragment != "" {
		return a, fmt.Errorf("%q is not %s://HOST[:PORT][/UNIT]", a.Text, scheme)
	}
	a.Host = u.Hostname()
	port := u.Port()
	if port != "" {
		if n, err := strconv.Atoi(port); err != nil || n < 1 || n > 65535 {
			return a, fmt.Errorf("%q: port %s is not from 1 to 65535", a.Text, port)
		}
		a.Host = net.JoinHostPort(u.Hostname(), port)
	} else if a.Kind == RTUOverTCP {
		return a, fmt.Errorf("%q: name the converter's port too, rtu+tcp://HOST:PORT/UNIT", a.Text)
	}
	if unit := strings.Trim(u.Path, "/"); unit != "" {
		if a.Unit, err = ParseUnit(unit); err != nil {
			return a, fmt.Errorf("%q: %w", a.Text, err)
		}
	}
	return a, nil
}

// parsePort takes a serial port apart: its name, and how it speaks.
func (a Address) parsePort(rest string) (Address, error) {
	name, query, _ := strings.Cut(rest, "?")
	a.Port.Port = name
	if strings.Trim(name, "/") == "" {
		return a, fmt.Errorf("%q names no port; write rtu:///dev/ttyUSB0?baud=9600&unit=1, or rtu://COM5?...; `legwork "+
			"ports` lists them", a.Text)
	}
	values, err := url.ParseQuery(query)
	if err != nil {
		return a, fmt.Errorf("%q: what follows the question mark can't be read; write ?baud=9600&parity=even&stop=1&unit=1",
			a.Text)
	}
	for key, v := range values {
		if err := a.setSerial(key, v[len(v)-1]); err != nil {
			return a, fmt.Errorf("%q: %w", a.Text, err)
		}
	}
	return a, nil
}

// Parities are how a parity is written.
var parities = map[string]link.Parity{"none": link.NoParity, "even": link.EvenParity, "odd": link.OddParity}

func (a *Address) setSerial(key, value string) (err error) {
	switch key {
	case "baud":
		if a.Port.Baud, err = strconv.Atoi(value); err != nil || a.Port.Baud < 75 || a.Port.Baud > 4_000_000 {
			return fmt.Errorf("baud %q is not a speed from 75 to 4000000; most meters have 9600 or 19200", value)
		}
	case "parity":
		if a.Port.Parity = parities[value]; a.Port.Parity == 0 {
			return fmt.Errorf("parity %q is not none, even or odd", value)
		}
	case "stop":
		if a.Port.StopBits, err = strconv.Atoi(value); err != nil || a.Port.StopBits < 1 || a.Port.StopBits > 2 {
			return fmt.Errorf("stop %q is not 1 or 2", value)
		}
	case "unit":
		a.Unit, err = ParseUnit(value)
		return err
	default:
		return fmt.Errorf("%q is not known here; there are baud, parity, stop and unit", key)
	}
	return nil
}

// ParseUnit reads a unit identifier (MODBUS over Serial Line V1.02, 2.2: 1 to
// 247; 255 for a meter straight on the network, Messaging Guide V1.0b, 4.4.1.3).
func ParseUnit(text string) (int, error) {
	n, err := strconv.Atoi(text)
	if err != nil || n < 1 || n > 247 && n != 255 {
		return 0, fmt.Errorf("unit %q is not from 1 to 247, nor 255 for a meter straight on the network", text)
	}
	return n, nil
}
