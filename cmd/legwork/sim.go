package main

import (
	"bytes"
	"cmp"
	"fmt"
	"net"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"legwork/cmd/legwork/internal/files"
	"legwork/cmd/legwork/internal/screen"
	"legwork/cmd/legwork/internal/source"
	"legwork/sim"
	"legwork/sim/serve"
)

type simFlags struct {
	listen, fault, mapOut string
	seed                  uint64
	rtuListen, tlsListen  string
	ca, cert, key         string
	pty, control          bool
	baud, sunspec, most   int
	turnaround            time.Duration
	mischief              string
	fleet                 fleetFlags
	layout                uint64
}

func (a *app) sim() *cobra.Command {
	var f simFlags
	c := &cobra.Command{
		Use:       "sim [NAME]",
		GroupID:   "bench",
		Short:     "Serve a simulated meter, or list the places there are",
		Example:   "legwork sim kiln-house --listen 127.0.0.1:5020 --fault ct2-reversed",
		Args:      atMostOne("NAME"),
		ValidArgs: sim.Names(),
		RunE: func(c *cobra.Command, args []string) error {
			if c.Flags().Changed("fleet") {
				return a.runFleet(c, f.fleet, f.seed, f.control)
			}
			if c.Flags().Changed("layout") {
				return a.runLayout(c, strings.Join(args, ""), f)
			}
			if len(args) == 0 {
				return a.listPlaces()
			}
			return a.runSim(c, args[0], f)
		},
	}
	c.Flags().StringVar(&f.listen, "listen", "127.0.0.1:5020", "`HOST:PORT` to serve on")
	c.Flags().StringVar(&f.fault, "fault", "", "wiring faults, a comma `LIST`")
	c.Flags().Uint64Var(&f.seed, "seed", 0, "seed `N` of the loads and the meter's errors")
	c.Flags().StringVar(&f.rtuListen, "rtu-listen", "", "`HOST:PORT` to serve RTU frames on, as a serial converter does")
	c.Flags().BoolVar(&f.pty, "pty", false, "serve a serial line on a pseudo-terminal")
	c.Flags().StringVar(&f.tlsListen, "tls-listen", "",
		"`HOST:PORT` to serve Modbus/TCP Security on, with --ca, --cert and --key")
	c.Flags().StringVar(&f.ca, "ca", "", "authority that signed the clients' certificates, PEM `FILE`")
	c.Flags().StringVar(&f.cert, "cert", "", "the meter's certificate, PEM `FILE`")
	c.Flags().StringVar(&f.key, "key", "", "its key, PEM `FILE`")
	c.Flags().IntVar(&f.baud, "baud", 0, "speed `N` of the serial line; 0 takes no time, and has --pty at 19200")
	c.Flags().DurationVar(&f.turnaround, "turnaround", 0, "time the meter takes before it answers")
	c.Flags().StringVar(&f.mischief, "mischief", "",
		"shares of answers to spoil, such as `lost=0.05,noise=0.1`; all=0.01 is every kind")
	c.Flags().IntVar(&f.sunspec, "sunspec", 0, "SunSpec `MODEL` to serve beside, 201 to 204 or 211 to 214")
	c.Flags().IntVar(&f.most, "most-registers", 0, "refuse requests for more than `N` registers; 0 is 125")
	c.Flags().BoolVar(&f.control, "control", false, "change it at each line of standard input: faults, or none;\n"+
		"leg 1 on 1.5kW, leg 1 off; off CIRCUIT, on CIRCUIT; with --fleet a meter's name first")
	f.fleet.add(c)
	c.Flags().Uint64Var(&f.layout, "layout", 0,
		"set the registers out as `SEED` has it, as in a meter that nobody has described; without NAME the place too")
	c.Flags().StringVar(&f.mapOut, "map-out", "", "write the register map that reads it to `FILE`")
	complete(c, "fault", sim.Mistakes())
	return c
}

// listPlaces lists what can be simulated, with what it means.
func (a *app) listPlaces() error {
	var l screen.Bench
	for _, name := range sim.Names() {
		p, err := sim.Open(name, sim.Options{})
		if err != nil {
			return err
		}
		l.Places = append(l.Places, screen.Place{Name: name, Service: p.Service(), Title: p.Title()})
	}
	for _, s := range sim.Sorts() {
		l.Faults = append(l.Faults, screen.Fault{Name: s.Name, Means: s.Means})
	}
	return screen.Simulated(a.stdout, l, a.style())
}

func (a *app) runSim(c *cobra.Command, name string, f simFlags) error {
	served, err := source.ServePlace(name, sim.Options{Fault: f.fault, Seed: f.seed}, f.sunspec)
	if err != nil {
		return err
	}
	_, src := served.Place.Map()
	out := files.Output{Name: f.mapOut, Kind: "a map as `legwork sim` writes it", Own: isPlaceMap}
	return a.serveMeter(c, served, f, servedMap{name + ", " + served.Place.Service(), out, src})
}

// servedMap is what a meter is called, and the map that reads it.
type servedMap struct {
	what string
	out  files.Output
	text []byte
}

// serveMeter serves a meter until the command is interrupted.
func (a *app) serveMeter(c *cobra.Command, served *source.Served, f simFlags, m servedMap) error {
	defer served.Server.Close()
	mischief, err := serve.ParseMischief(f.mischief, f.seed)
	if err != nil {
		return fmt.Errorf("--mischief %w", err)
	}
	served.Server.Spoil(mischief)
	served.Server.Delay(f.turnaround)
	if f.most > 0 {
		served.Meter.MostRegisters = f.most
	}
	meters, err := listenAll(c, served.Server, served.Unit, f)
	if err != nil {
		return err
	}
	if f.mapOut != "" {
		if err := mapFormat.write(m.out, m.text); err != nil {
			return fmt.Errorf("--map-out %w", err)
		}
	}
	if _, err := fmt.Fprintln(a.stdout, strings.Join(meters, "\n")); err != nil {
		return err
	}
	fmt.Fprintf(a.stderr, "%s; interrupt to end\n", m.what)
	if f.control {
		go a.orders(served.Place.Order)
	}
	<-c.Context().Done()
	return nil
}

// isPlaceMap tells the maps of the places from those that people wrote, by how a
// file begins.
func isPlaceMap(begins []byte) bool {
	begins = mapFormat.withoutPointer(begins)
	for _, name := range sim.Names() {
		p, err := sim.Open(name, sim.Options{})
		if err != nil {
			continue
		}
		if _, src := p.Map(); bytes.Equal(begins, src[:min(len(begins), len(src))]) {
			return true
		}
	}
	return false
}

// usualRate is the speed of the pseudo-terminal where --baud gives none: the default
// of MODBUS over Serial Line V1.02, 2.5.1.
const usualRate = 19200

// listenAll serves what the flags ask for, and gives the METERs that read it.
// Modbus TCP is served where nothing else is asked for, too.
func listenAll(c *cobra.Command, s *serve.Server, unit int, f simFlags) ([]string, error) {
	line := serve.Line{Baud: f.baud, Turnaround: f.turnaround}
	var meters []string
	serveOn := func(flag, scheme, address string, listen func(string) (net.Addr, error)) error {
		at, err := listen(address)
		if err != nil {
			return fmt.Errorf("%s %s: %w; is the port taken, or the address not one of this machine?", flag, address, err)
		}
		meters = append(meters, fmt.Sprintf("%s://%s/%d", scheme, at, unit))
		return nil
	}
	if c.Flags().Changed("listen") || f.rtuListen == "" && f.tlsListen == "" && !f.pty {
		if err := serveOn("--listen", "tcp", f.listen, s.ListenTCP); err != nil {
			return nil, err
		}
	}
	if f.rtuListen != "" {
		onLine := func(at string) (net.Addr, error) { return s.ListenRTU(at, line) }
		if err := serveOn("--rtu-listen", "rtu+tcp", f.rtuListen, onLine); err != nil {
			return nil, err
		}
	}
	if f.tlsListen != "" {
		config, err := source.SecureServer(f.ca, f.cert, f.key)
		if err != nil {
			return nil, err
		}
		secure := func(at string) (net.Addr, error) { return s.ListenTLS(at, config) }
		if err := serveOn("--tls-listen", "tls", f.tlsListen, secure); err != nil {
			return nil, err
		}
	}
	if f.pty {
		line.Rate = cmp.Or(f.baud, usualRate)
		port, err := s.ServePTY(line)
		if err != nil {
			return nil, fmt.Errorf("--pty: %w", err)
		}
		meters = append(meters, fmt.Sprintf("rtu://%s?baud=%d&unit=%d", port, line.Rate, unit))
	}
	return meters, nil
}
