package main

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"legwork/cmd/legwork/internal/job"
	"legwork/cmd/legwork/internal/source"
	"legwork/diagnose"
	"legwork/diagnose/wiring"
	"legwork/probe/link"
	"legwork/probe/reading"
)

// starting is one session of start.
type starting struct {
	*app
	startFlags
	c     *cobra.Command
	meter string // as it was named; empty where it wasn't
	ask   *asker

	sheet   string
	j       *job.Job // the sheet as it is now; nil before it is written
	new     *newSheet
	at      source.Address // of the meter, in full
	reading reading.Reading
	verdict string // how the meter reads, in a sentence
	learned bool   // by this session
	anew    string // the learned map that is to be learned again; empty for a new one
}

func (s *starting) say(format string, args ...any) {
	fmt.Fprintf(s.stderr, format+"\n", args...)
}

// sayAll says sentences, those that aren't empty.
func (s *starting) sayAll(sentences []string) {
	for _, text := range sentences {
		if text != "" {
			s.say("%s", text)
		}
	}
}

// findMeter finds the meter that is named, by the command or by the sheet, or on
// a port that the person chooses.
func (s *starting) findMeter() (err error) {
	switch {
	case s.meter != "":
	case s.j != nil && s.j.Meter.Kind != 0:
		s.meter = s.j.Named()
	default:
		if err := s.choosePort(); err != nil {
			return err
		}
	}
	address, err := source.Parse(s.meter)
	if err != nil {
		return err
	}
	if !address.OnWire() && !address.Short() && address.Kind != source.Sim {
		return fmt.Errorf("%s is no meter that can be asked; name a PORT, a HOST or a METER", s.meter)
	}
	if address.Short() {
		s.say("Looking for a meter on %s", address.Place())
	}
	if s.at, err = s.address(s.c, s.meter, &s.meterFlags); err != nil {
		return err
	}
	return s.put(job.Value{Name: "meter", Text: s.at.Text})
}

// choosePort lists the serial ports, and asks on which the meter is. A host may be
// named instead.
func (s *starting) choosePort() error {
	ports, err := link.Ports()
	if err != nil {
		return fmt.Errorf("serial ports: %w", err)
	}
	proposed, question := "", "No serial port is here. On which host of the network is the meter?"
	if len(ports) > 0 {
		s.say("Serial ports:")
		for i, p := range ports {
			s.say("  %d  %-16s %s", i+1, p.Name, p.Product)
		}
		question = "On which is the meter? A number, or a host of the network"
		if ports[0].USB {
			proposed = "1"
		}
	}
	err = s.ask.askUntil(s.c.Context(), question, proposed, func(answer string) error {
		if n, err := strconv.Atoi(answer); err == nil && n >= 1 && n <= len(ports) {
			s.meter = ports[n-1].Name
			return nil
		}
		a, err := source.Parse(answer)
		if err != nil || !a.Short() && !a.OnWire() {
			return fmt.Errorf("%q is no number of a port here, and no host", answer)
		}
		s.meter = answer
		return nil
	})
	if errors.Is(err, errNoAnswer) {
		return errors.New("say on which port or host the meter is: `legwork start PORT`; `legwork ports` lists the ports")
	}
	return err
}

// findMap finds out by which map the meter is read: the one that is named, its
// own, or one that is learnt.
func (s *starting) findMap() error {
	switch {
	case s.at.Kind == source.Sim:
		return nil // it brings its own
	case s.Map != "":
		return s.namedMap()
	case s.j.Map != "":
		s.Map = s.j.Map
		return nil
	}
	if _, is := s.trySunSpec(s.c.Context(), s.at, s.Options); is {
		s.say("It follows SunSpec, and needs no register map")
		s.Map = source.SunSpecMap
		return s.put(job.Value{Name: "map", Text: s.Map})
	}
	s.say("It does not follow SunSpec. Learning its registers")
	return s.learn()
}

// namedMap takes the map of a flag; its path counts from here, and in the sheet
// from the sheet.
func (s *starting) namedMap() error {
	if s.Map != source.SunSpecMap {
		if _, err := source.LoadMap(s.Map); err != nil {
			return err
		}
	}
	return s.put(job.Value{Name: "map", Text: s.fromSheet(s.Map)})
}

// findService reads the meter, finds the service by the voltages and asks whether
// it is right; then it judges the wiring.
func (s *starting) findService() error {
	if s.Service == "" {
		s.Service = s.j.Service
	}
	l, err := s.look(s.c, s.at.Text, s.meterFlags)
	if err != nil {
		return err
	}
	if s.new != nil {
		l.into(&s.new.BlankOptions)
	}
	service := l.service
	switch {
	case l.by == "":
	case service == "":
		s.say("The voltages fit no service that is known here")
		err = s.askService("Which service is it?", "")
	default:
		err = s.askService(fmt.Sprintf("Service %s, %s. Right? Or write which it is", service, l.by), "y")
	}
	if err != nil {
		return err
	}
	if s.Service == "" {
		s.Service = service
	} else if s.new != nil {
		s.new.ServiceBy = "" // by the person
	}
	s.reading = l.reading
	return s.put(job.Value{Name: "service", Text: s.Service})
}

// askGeneration asks whether power may flow back, which reads like reversed CTs
// and which no meter tells. Nothing is assumed of it.
func (s *starting) askGeneration() error {
	given := s.c.Flags().Changed("generation")
	if s.j.Generation != "" && !given || s.yes && !given {
		return nil
	}
	if !given {
		err := s.ask.askUntil(s.c.Context(), "Solar, a battery or a generator behind the meter: none, possible or unknown?",
			"unknown", func(answer string) error {
				answer = strings.ToLower(answer)
				if !slices.Contains([]string{"none", "possible", "unknown"}, answer) {
					return fmt.Errorf("%q is not none, possible or unknown; write the whole word", answer)
				}
				s.generation = answer
				return nil
			})
		if errors.Is(err, errNoAnswer) {
			return nil // it stays unknown
		}
		if err != nil {
			return err
		}
	}
	if s.generation == "unknown" {
		return nil
	}
	return s.put(job.Value{Name: "generation", Text: s.generation})
}

// judge says how the meter reads now.
func (s *starting) judge() error {
	on := diagnose.New(diagnose.Options{Service: s.Service, CTPrimary: s.j.CTs.Primary, MinCurrent: s.j.MinCurrent,
		Generation: s.j.Generation, Load: s.j.Load})
	on.Add(s.reading)
	r := on.Result()
	s.verdict = strings.ToUpper(string(r.Verdict)) + "  " + r.Summary
	return nil
}

// askService asks for a service till it is one; s.Service stays blank where the
// proposed one is right.
func (s *starting) askService(question, proposed string) error {
	err := s.ask.askUntil(s.c.Context(), question, proposed, func(answer string) error {
		switch strings.ToLower(answer) {
		case "y", "yes":
			return nil
		case "", "n", "no":
			return errors.New("write the service, such as " + strings.Join(wiring.ServiceNames(), ", "))
		}
		if _, err := wiring.ParseService(answer); err != nil {
			return err
		}
		s.Service = answer
		return nil
	})
	if errors.Is(err, errNoAnswer) {
		return errors.New("say with --service NAME which service it is")
	}
	return err
}
