package source

import (
	"cmp"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"os"
	"time"

	"legwork/probe"
	"legwork/probe/link"
	"legwork/probe/reading"
	"legwork/probe/regmap"
)

// Source gives readings, one at a time.
type Source interface {
	// Next gives the next reading: of a meter, one taken now; of a capture, the
	// next one, and io.EOF after the last. A meter that can't be read gives an
	// Unread.
	Next(ctx context.Context) (reading.Reading, error)
	// Live reports that readings are taken as they are asked for.
	Live() bool
	// Service is what is declared, or empty.
	Service() string
	Close() error
}

// Unread is the error of a meter that could not be read, as against one of the
// command, a file or a value.
type Unread struct{ Err error }

func (u Unread) Error() string { return u.Err.Error() }

// Unwrap gives the cause.
func (u Unread) Unwrap() error { return u.Err }

// Options are the flags that go with a METER.
type Options struct {
	Map     string // file of the register map
	Service string // one that wiring.ParseService knows, or empty
	Unit    int    // 0 leaves it to METER and map
	Timeout time.Duration
	Retries int
	Fault   string
	Seed    uint64
	SeedSet bool
	Stdin   io.Reader
	Asking  func(link.Read) // told of each question that finds out what a meter has; may be nil
	Seeking Seeking         // how what a METER in short leaves out is looked for

	// Files of Modbus/TCP Security, PEM.
	CA, Cert, Key, ServerName string

	shared bool // the link is for several meters
}

// Open makes the source that a METER names. Errors other than an Unread are of
// the command, a file or a value.
func Open(ctx context.Context, a Address, o Options) (Source, error) {
	if a.Kind != Sim && (o.Fault != "" || o.SeedSet) {
		return nil, fmt.Errorf("--fault and --seed are for sim: meters, and %s is none", a.Text)
	}
	switch a.Kind {
	case BarePort, BareHost:
		whole, err := Complete(ctx, a, o)
		if err != nil {
			return nil, err
		}
		return Open(ctx, whole, o)
	case Sim:
		return openSim(ctx, a, o)
	case TCP, TLS, RTU, RTUOverTCP:
		return openMeter(ctx, a, o)
	case PromQL:
		return openPromQL(ctx, a, o)
	case Job:
		return nil, fmt.Errorf("%s: a job sheet names a meter, not another job sheet", a.Name)
	}
	return openCapture(a, o)
}

// LoadMap reads a register map; its error lists every fault.
func LoadMap(file string) (*regmap.Map, error) {
	src, err := ReadFile(file)
	if err != nil {
		return nil, err
	}
	return regmap.Parse(file, src)
}

// mostBytes is more than any map may have; the map's own limit then speaks.
const mostBytes = 4 << 20

// ReadFile reads a file of moderate size; its error names it.
func ReadFile(file string) ([]byte, error) {
	f, err := os.Open(file)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", file, plain(err))
	}
	defer f.Close()
	src, err := io.ReadAll(io.LimitReader(f, mostBytes))
	if err != nil {
		return nil, fmt.Errorf("%s: %w", file, plain(err))
	}
	return src, nil
}

// Meter is a source that reads a meter.
type Meter struct {
	*probe.Meter
	Map     *regmap.Map
	Link    link.Counted
	Kind    Kind
	service string
	closers []func() error
}

func openMeter(ctx context.Context, a Address, o Options) (Source, error) {
	if o.Map == "" {
		return nil, fmt.Errorf("%s: say with --map FILE which registers hold what, or --map sunspec for a meter that "+
			"follows SunSpec", a.Text)
	}
	if o.Map == SunSpecMap {
		return openSunSpec(ctx, a, o)
	}
	m, err := LoadMap(o.Map)
	if err != nil {
		return nil, err
	}
	l, err := Dial(ctx, a, o)
	if err != nil {
		return nil, err
	}
	return newMeter(l, a, m, o), nil
}

// OpenMapped makes the source of a meter that a map reads which stands in no file.
func OpenMapped(ctx context.Context, a Address, m *regmap.Map, o Options) (*Meter, error) {
	l, err := Dial(ctx, a, o)
	if err != nil {
		return nil, err
	}
	return newMeter(l, a, m, o), nil
}

// Dial makes the link to the meter that an address names. A meter that can't be
// reached is an Unread; other errors are of the command or a file.
func Dial(ctx context.Context, a Address, o Options) (link.Counted, error) {
	if a.Kind != TLS && (o.CA != "" || o.Cert != "" || o.Key != "" || o.ServerName != "") {
		return nil, fmt.Errorf("--ca, --cert, --key and --server-name are for tls:// meters, and %s is none", a.Text)
	}
	lo := link.Options{Timeout: o.Timeout, Retries: o.Retries, Shared: o.shared}
	switch a.Kind {
	case RTU:
		return reached(link.OpenRTU(ctx, a.Port, lo))
	case RTUOverTCP:
		return reached(link.DialRTU(ctx, a.Host, lo))
	case TLS:
		c, err := secure(o)
		if err != nil {
			return nil, err
		}
		return reached(link.DialTLS(ctx, a.Host, c, lo))
	}
	return reached(link.DialTCP(ctx, a.Host, lo))
}

func reached[L link.Counted](l L, err error) (link.Counted, error) {
	if err != nil {
		return nil, Unread{err}
	}
	return l, nil
}

// newMeter makes the meter; flags override METER, and METER the map.
func newMeter(l link.Counted, a Address, m *regmap.Map, o Options) *Meter {
	of := probe.MeterOptions{Unit: cmp.Or(o.Unit, a.Unit), Service: o.Service, Limits: limits(a)}
	return &Meter{Meter: probe.NewMeter(l, m, of), Map: m, Link: l, Kind: a.Kind, service: o.Service,
		closers: []func() error{l.Close}}
}

// limits are those of the way to the meter. Frames on a serial line carry no
// transaction number, so blocks of unlike lengths are a second way to tell
// their answers apart.
func limits(a Address) regmap.Limits {
	switch a.Kind {
	case RTU:
		return regmap.Limits{RoundTrip: a.Port.RoundTrip(), Unlike: true}
	case RTUOverTCP:
		return regmap.Limits{Unlike: true}
	}
	return regmap.Limits{}
}

// Next takes a reading.
func (m *Meter) Next(ctx context.Context) (reading.Reading, error) {
	r, err := m.Read(ctx)
	if err != nil {
		return r, Unread{err}
	}
	return r, nil
}

// Live is true.
func (m *Meter) Live() bool { return true }

// Service is what is declared, or empty.
func (m *Meter) Service() string { return m.service }

// Identify asks the meter who it is (function 43/14); many don't tell, and then
// the error is around link.ErrNoIdentity.
func (m *Meter) Identify(ctx context.Context) (link.Identity, error) {
	return m.Link.Identify(ctx, m.Unit())
}

// Identity says which meter an address leads to, the same however it is written,
// and by which map it is read; empty of what isn't asked live.
func Identity(a Address, s Source) (meter, byMap string) {
	live, ok := s.(*Meter)
	if !ok {
		return "", ""
	}
	switch a.Kind {
	case Sim:
		meter = "sim:" + a.Name
	case RTU:
		meter = fmt.Sprintf("rtu://%s?unit=%d", a.Port.Port, live.Unit())
	default:
		meter = fmt.Sprintf("%s/%d", a.Host, live.Unit())
	}
	sum := sha256.Sum256(live.Map.YAML(""))
	return meter, hex.EncodeToString(sum[:8])
}

// AtEnd has Close call f first.
func (m *Meter) AtEnd(f func()) {
	m.closers = append([]func() error{func() error { f(); return nil }}, m.closers...)
}

// Close ends the link, and the server of a simulated meter.
func (m *Meter) Close() error {
	var first error
	for _, c := range m.closers {
		if err := c(); first == nil {
			first = err
		}
	}
	return first
}
