package source

import (
	"context"
	"errors"
	"fmt"
	"net"
	"os"
	"slices"
	"time"

	"legwork/probe"
	"legwork/probe/link"
	"legwork/probe/regmap"
	"legwork/probe/seek"
	"legwork/sim"
)

// usualUnits are asked where nobody says which unit: most meters are among the
// first. Common practice, no source.
const usualUnits = 10

// Units are the unit identifiers to ask, that of a flag or a map first.
func Units(likely ...int) []byte {
	var units []byte
	for _, u := range likely {
		if u != 0 && !slices.Contains(units, byte(u)) {
			units = append(units, byte(u))
		}
	}
	for u := range usualUnits {
		if !slices.Contains(units, byte(u+1)) {
			units = append(units, byte(u+1))
		}
	}
	return units
}

// Ways are how a port or a host may be spoken to, the likeliest first.
func (a Address) Ways() []seek.Way {
	if a.Kind == BarePort || a.Kind == RTU {
		return seek.SerialWays(a.Port.Port)
	}
	host := a.Host
	if net.ParseIP(host).To4() == nil && net.ParseIP(host) != nil {
		host = "[" + host + "]"
	}
	_, _, err := net.SplitHostPort(host)
	return seek.NetworkWays(host, err == nil)
}

// NotFound is the error of a port or a host on which no meter was found.
type NotFound struct {
	Where  string
	Result seek.Result
}

func (n NotFound) Error() string {
	if n.Result.Error != nil {
		return n.Result.Error.Error()
	}
	return fmt.Sprintf("%s: no meter answered %d questions; `legwork find %[1]s` says what was heard, and what to check",
		n.Where, n.Result.Asked)
}

// Complete finds out what a METER in short leaves out. Where nothing is found
// the error is an Unread around a NotFound; a name that is something else is an
// error of the command.
func Complete(ctx context.Context, a Address, o Options) (Address, error) {
	if !a.Short() {
		return a, nil
	}
	if err := a.other(ctx); err != nil {
		return a, err
	}
	s := seek.Options{Ways: a.Ways(), Units: Units(o.likely()...), Timeout: o.Seeking.Timeout, Step: o.Seeking.Step}
	if o.Unit != 0 {
		s.Units = []byte{byte(o.Unit)}
	}
	if s.Timeout == 0 && a.Kind == BareHost {
		s.Timeout = NetworkPatience
	}
	found, err := seek.Run(ctx, s)
	switch {
	case len(found.Found) > 0:
		return Parse(found.Found[0].Way.Meter(found.Found[0].Unit))
	case err != nil:
		return a, Unread{fmt.Errorf("%s: stopped after %d questions; no meter was found until then", a.Text, found.Asked)}
	}
	return a, Unread{NotFound{a.Text, found}}
}

// NetworkPatience is how long to wait for an answer of a host that may have no
// meter. Our choice: a gateway asks its own line first.
const NetworkPatience = time.Second

// Seeking is how a meter is looked for.
type Seeking struct {
	Timeout time.Duration   // for one answer; 0 leaves it to the way
	Step    func(seek.Step) // told before each question; may be nil
}

// likely is the unit that the map names.
func (o Options) likely() []int {
	if o.Map == "" || o.Map == SunSpecMap {
		return nil
	}
	if m, err := LoadMap(o.Map); err == nil {
		return []int{m.Unit}
	}
	return nil
}

// other refuses a name that is something else than a host: a file, a place of
// the simulator, or nothing at all.
func (a Address) other(ctx context.Context) error {
	if a.Kind != BareHost {
		return nil
	}
	if info, err := os.Stat(a.Text); err == nil {
		what := "a file, and no METER by its name: captures end in .jsonl or .csv, job sheets in .yaml"
		if info.IsDir() {
			what = "a folder, and no METER"
		}
		return fmt.Errorf("%s: this is %s; for a host of that name write tcp://%[1]s", a.Text, what)
	}
	if slices.Contains(sim.Names(), a.Text) {
		return fmt.Errorf("%s: this is a place of the simulator: write sim:%[1]s; for a host of that name write tcp://%[1]s",
			a.Text)
	}
	host, _, err := hostAndPort(a.Text)
	if err != nil || net.ParseIP(host) != nil {
		return err
	}
	var unknown *net.DNSError
	if _, err := net.DefaultResolver.LookupHost(ctx, host); errors.As(err, &unknown) && unknown.IsNotFound {
		return fmt.Errorf("%s: there is no host, no file, no place and no port of that name; %s", a.Text, forms)
	}
	return nil
}

// SunSpec gives the map of a meter that describes itself by that standard;
// false where it doesn't, or doesn't say.
func SunSpec(ctx context.Context, a Address, o Options) (*regmap.Map, bool) {
	l, err := Dial(ctx, a, o)
	if err != nil {
		return nil, false
	}
	defer l.Close()
	m, err := probe.FindSunSpec(ctx, link.Telling(l, o.Asking), byte(max(o.Unit, a.Unit, 1)))
	return m, err == nil
}
