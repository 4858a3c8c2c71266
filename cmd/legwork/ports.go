package main

import (
	"encoding/json"
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"legwork/probe/link"
)

func (a *app) ports() *cobra.Command {
	format := "text"
	c := &cobra.Command{
		Use:     "ports",
		GroupID: "wires",
		Short:   "List this computer's serial ports, the likeliest first",
		Long:    "Lists the serial ports and what the system knows of them. None is opened.",
		Args:    noArguments,
		RunE: func(*cobra.Command, []string) error {
			if format != "text" && format != "json" {
				return fmt.Errorf("--format %q is not text or json", format)
			}
			ports, err := link.Ports()
			if err != nil {
				return fmt.Errorf("serial ports: %w", err)
			}
			if format == "json" {
				return portsJSON(a.stdout, ports)
			}
			return portsText(a.stdout, ports)
		},
	}
	c.Flags().StringVar(&format, "format", format, "`text` or json")
	return c
}

func portsText(w io.Writer, ports []link.PortInfo) error {
	if len(ports) == 0 {
		_, err := fmt.Fprintln(w, "No serial port. Is the adapter plugged in, and its driver there? A converter on the network needs none: rtu+tcp://HOST:PORT/UNIT")
		return err
	}
	var b strings.Builder
	for i, p := range ports {
		mark := "  "
		if i == 0 && p.USB {
			mark = "> " // the best guess
		}
		facts := []string{}
		for _, f := range []string{p.Product, p.IDs} {
			if f != "" {
				facts = append(facts, f)
			}
		}
		if p.Serial != "" {
			facts = append(facts, "no. "+p.Serial)
		}
		line := fmt.Sprintf("%s%-16s %s", mark, p.Name, strings.Join(facts, ", "))
		b.WriteString(strings.TrimRight(line, " ") + "\n")
		if p.Stable != "" {
			fmt.Fprintf(&b, "    stays the same when plugged anew: %s\n", p.Stable)
		}
	}
	if ports[0].USB {
		fmt.Fprintf(&b, "\nBest guess: %s. Next: legwork find %[1]s\n", ports[0].Name)
	}
	_, err := io.WriteString(w, b.String())
	return err
}

type portJSON struct {
	Port    string  `json:"port"`
	Likely  bool    `json:"likely"`
	Product *string `json:"product"`
	USB     *string `json:"usb"`
	Serial  *string `json:"serial"`
	Stable  *string `json:"stable"`
}

func portsJSON(w io.Writer, ports []link.PortInfo) error {
	out := struct {
		Legwork int        `json:"legwork"`
		Ports   []portJSON `json:"ports"`
	}{1, []portJSON{}}
	for i, p := range ports {
		out.Ports = append(out.Ports, portJSON{p.Name, i == 0 && p.USB, orNull(p.Product), orNull(p.IDs), orNull(p.Serial), orNull(p.Stable)})
	}
	return json.NewEncoder(w).Encode(out)
}

func orNull(s string) *string {
	if s == "" {
		return nil
	}
	return &s
}
