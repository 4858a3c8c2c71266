package link

import (
	"cmp"
	"slices"
	"strings"
)

// PortInfo is a serial port and what the system knows of it; what it doesn't
// know is empty.
type PortInfo struct {
	Name    string // as METER names it
	USB     bool
	Product string
	IDs     string // USB vendor and product, "1a86:7523"
	Serial  string // number of the adapter
	Stable  string // a name that stays when adapters are plugged anew
}

// rank puts ports that are likely to lead to a meter first: adapters on USB.
func (p PortInfo) rank() int {
	switch {
	case p.USB:
		return 0
	case strings.Contains(p.Name, "AMA") || strings.HasPrefix(p.Name, "COM"):
		return 1
	}
	return 2
}

// Ports lists the serial ports of this machine, the likeliest first. None of
// them is opened: to open one sets its speed, and one may be a console.
func Ports() ([]PortInfo, error) {
	ports, err := listPorts()
	return sorted(ports), err
}

// sorted puts the likeliest first, and of those alike the one with the lowest
// number.
func sorted(ports []PortInfo) []PortInfo {
	slices.SortStableFunc(ports, func(a, b PortInfo) int {
		return cmp.Or(cmp.Compare(a.rank(), b.rank()), cmp.Compare(len(a.Name), len(b.Name)), cmp.Compare(a.Name, b.Name))
	})
	return ports
}
