package main

import (
	"encoding/json"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"legwork/cmd/legwork/internal/screen"
	"legwork/probe/link"
)

func (a *app) ports() *cobra.Command {
	var format string
	c := &cobra.Command{
		Use:     "ports",
		Example: "legwork ports",
		GroupID: "wires",
		Short:   "List this computer's serial ports, the likeliest first",
		Long:    "Lists the serial ports and what the system knows of them. None is opened.",
		Args:    noArguments,
		RunE: func(*cobra.Command, []string) error {
			ports, err := link.Ports()
			if err != nil {
				return fmt.Errorf("serial ports: %w", err)
			}
			if format == "json" {
				return portsJSON(a.stdout, ports)
			}
			return screen.Ports(a.stdout, ports)
		},
	}
	addFormat(c, &format)
	return c
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
		out.Ports = append(out.Ports, portJSON{p.Name, i == 0 && p.USB, orNull(p.Product), orNull(p.IDs),
			orNull(p.Serial), orNull(p.Stable)})
	}
	return json.NewEncoder(w).Encode(out)
}

func orNull(s string) *string {
	if s == "" {
		return nil
	}
	return &s
}
