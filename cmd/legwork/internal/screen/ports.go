package screen

import (
	"fmt"
	"io"
	"strings"

	"legwork/probe/link"
)

// Ports lists serial ports, the best guess marked.
func Ports(w io.Writer, ports []link.PortInfo) error {
	if len(ports) == 0 {
		_, err := fmt.Fprintln(w,
			"No serial port. Is the adapter plugged in and its driver installed? A converter on the network needs none: "+
				"rtu+tcp://HOST:PORT/UNIT")
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
			facts = append(facts, "serial number "+p.Serial)
		}
		line := fmt.Sprintf("%s%-16s %s", mark, p.Name, strings.Join(facts, ", "))
		b.WriteString(strings.TrimRight(line, " ") + "\n")
		if p.Stable != "" {
			fmt.Fprintf(&b, "    keeps this name when plugged in again: %s\n", p.Stable)
		}
	}
	if ports[0].USB {
		fmt.Fprintf(&b, "\nBest guess: %s. Next: legwork find %[1]s\n", ports[0].Name)
	}
	_, err := io.WriteString(w, b.String())
	return err
}
