package source

import (
	"fmt"
	"net"
	"net/url"
	"path/filepath"
	"strconv"
	"strings"
)

// Kind is a form of METER.
type Kind uint8

// The forms.
const (
	TCP     Kind = iota + 1 // tcp://HOST[:502][/UNIT]
	Sim                     // sim:NAME[?fault=...&seed=N]
	Capture                 // FILE.jsonl, FILE.csv or -
	Job                     // FILE.yaml, a job sheet that names one of the others
)

// Address is a METER, taken apart.
type Address struct {
	Kind  Kind
	Text  string // as it was given
	Host  string // TCP: host:port
	Unit  int    // 0 where it isn't named
	Name  string // Sim: the place; Capture: the file, or -; Job: the file
	Fault string
	Seed  uint64
}

// forms is what an argument that is no METER is answered with.
const forms = "a METER is tcp://HOST/UNIT, sim:NAME, a capture FILE.jsonl or FILE.csv, - for standard input, or a job sheet FILE.yaml"

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
	case found && scheme == "tcp" && strings.HasPrefix(rest, "//"):
		return a.parseTCP()
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
	return a, fmt.Errorf("%q: %s", text, forms)
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

func (a Address) parseTCP() (Address, error) {
	a.Kind = TCP
	u, err := url.Parse(a.Text)
	if err != nil || u.Hostname() == "" || u.RawQuery != "" || u.User != nil || u.Fragment != "" {
		return a, fmt.Errorf("%q is not tcp://HOST[:PORT][/UNIT]", a.Text)
	}
	a.Host = u.Hostname()
	if port := u.Port(); port != "" {
		if n, err := strconv.Atoi(port); err != nil || n < 1 || n > 65535 {
			return a, fmt.Errorf("%q: port %s is not from 1 to 65535", a.Text, port)
		}
		a.Host = net.JoinHostPort(u.Hostname(), port)
	}
	if unit := strings.Trim(u.Path, "/"); unit != "" {
		if a.Unit, err = ParseUnit(unit); err != nil {
			return a, fmt.Errorf("%q: %w", a.Text, err)
		}
	}
	return a, nil
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
