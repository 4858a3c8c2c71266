package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"legwork/cmd/legwork/internal/source"
	"legwork/diagnose"
	"legwork/probe/link"
	"legwork/probe/reading"
)

// looked is what a first look at a meter told.
type looked struct {
	address source.Address  // in full
	byMap   string          // file of the register map, or sunspec; empty where it is read by none
	told    link.Identity   // of itself; all empty where it doesn't tell
	reading reading.Reading // without channels where there is no map
	service string          // declared, or by the voltages; empty where neither is known
	by      string          // what the service is by; empty where it was declared
}

// look asks a meter what it is, and reads it once where it is known by which map.
// Where no map is named it is asked whether it follows SunSpec.
func (a *app) look(c *cobra.Command, meter string, m meterFlags) (looked, error) {
	var l looked
	var err error
	if l.address, err = a.address(c, meter, &m); err != nil {
		return l, err
	}
	if m.Map == "" && l.address.OnWire() {
		if _, is := a.trySunSpec(c.Context(), l.address, m.Options); is {
			m.Map = source.SunSpecMap
			fmt.Fprintf(a.stderr, "%s follows SunSpec: --map sunspec\n", l.address.Text)
		}
	}
	l.byMap, l.service = m.Map, m.Service
	if m.Map == "" && l.address.OnWire() {
		return l, a.identity(c, &l, m)
	}
	return l, a.firstReading(c, &l, m)
}

// identity asks a meter of which no register is known who it is.
func (a *app) identity(c *cobra.Command, l *looked, m meterFlags) error {
	conn, err := source.Dial(c.Context(), l.address, m.Options)
	if err != nil {
		return err
	}
	defer conn.Close()
	unit := m.Unit
	if unit == 0 {
		unit = max(l.address.Unit, 1)
	}
	if id, err := conn.Identify(c.Context(), byte(unit)); err == nil { // many don't tell
		l.told = id
	}
	return nil
}

// firstReading reads a meter once, and finds its service by the voltages where
// none is declared.
func (a *app) firstReading(c *cobra.Command, l *looked, m meterFlags) error {
	s, err := a.open(c.Context(), c, l.address.Text, m)
	if err != nil {
		return err
	}
	defer s.Close()
	if l.reading, err = s.Next(c.Context()); err != nil {
		return err
	}
	if live, ok := s.(*source.Meter); ok {
		if id, err := live.Identify(c.Context()); err == nil {
			l.told = id
		}
	}
	if l.service = s.Service(); l.service == "" {
		l.service = byVoltages(l.reading)
		l.by = "by the voltages"
	}
	return nil
}

// byVoltages is the service by the voltages of a reading; empty where they don't tell.
func byVoltages(r reading.Reading) string {
	on := diagnose.New(diagnose.Options{Service: r.Service})
	on.Add(r)
	return on.Result().Service.Name
}
