package sites

import (
	"net"
	"strings"

	"legwork/cmd/legwork/internal/source"
	"legwork/diagnose"
	"legwork/probe/regmap"
)

// Site is one meter of a list. A text that isn't given is empty, a number 0.
type Site struct {
	Name       string
	Meter      source.Address
	Map        string // file, as it is found from where the command runs, or sunspec
	Service    string
	Generation diagnose.Generation // empty where nothing is said
	Load       []diagnose.LoadSort // what hangs on the meter
	Place      string              // the column `site`: what groups meters
	Under      string              // the name of the meter above
	CTPrimary  float64             // A, rated
	Note       string
	Wire       string // the key of its wire

	// What only a job sheet says.
	MinCurrent float64 // A
	VoltageCTs bool
	Findings   []diagnose.Finding

	Line int // of the row; 0 where a job sheet is the row
}

// Options are the diagnosis's for the meter, but for what is shared by all meters.
func (s *Site) Options(shared *diagnose.Tables) diagnose.Options {
	return diagnose.Options{Service: s.Service, Generation: s.Generation, Load: s.Load, CTPrimary: s.CTPrimary, MinCurrent: s.MinCurrent,
		VoltageOutputCTs: s.VoltageCTs, Findings: s.Findings, Tables: shared}
}

// List is a sites file or folder as it was read.
type List struct {
	File  string
	Sites []*Site
	Maps  map[string]*regmap.Map // by file
}

// Find gives the meter of a name, or nil.
func (l *List) Find(name string) *Site {
	for _, s := range l.Sites {
		if s.Name == name {
			return s
		}
	}
	return nil
}

// Wire is meters that are asked one after another.
type Wire struct {
	Key   string
	Sites []*Site
}

// Wires groups the meters, in the order of the list.
func (l *List) Wires() []Wire {
	var all []Wire
	at := map[string]int{}
	for _, s := range l.Sites {
		i, known := at[s.Wire]
		if !known {
			i = len(all)
			at[s.Wire] = i
			all = append(all, Wire{Key: s.Wire})
		}
		all[i].Sites = append(all[i].Sites, s)
	}
	return all
}

// Ports of Modbus TCP (Implementation Guide V1.0b, 4.2) and of Modbus/TCP
// Security (MB-TCP-Security v2.1, 6).
const (
	modbusPort = "502"
	securePort = "802"
)

// WireOf is the key of the wire that an address names: the lower-case host with
// its port, or the serial port; of what needs no wire, the METER itself.
func WireOf(a source.Address) string {
	port := modbusPort
	switch a.Kind {
	case source.RTU, source.BarePort:
		return "serial:" + a.Port.Port
	case source.TLS:
		port = securePort
	case source.TCP, source.RTUOverTCP, source.BareHost:
	default:
		return a.Text
	}
	host := a.Host
	if h, p, err := net.SplitHostPort(host); err == nil {
		host, port = h, p
	}
	return net.JoinHostPort(strings.ToLower(host), port)
}
