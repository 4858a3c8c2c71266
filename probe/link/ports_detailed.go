//go:build (darwin && cgo) || windows

package link

import (
	"strings"

	"go.bug.st/serial/enumerator"
)

// listPorts asks the system for ports and their USB names.
func listPorts() ([]PortInfo, error) {
	found, err := enumerator.GetDetailedPortsList()
	if err != nil {
		return nil, err
	}
	var ports []PortInfo
	for _, f := range found {
		p := PortInfo{Name: f.Name, USB: f.IsUSB, Product: f.Product, Serial: f.SerialNumber}
		if f.IsUSB {
			p.IDs = strings.ToLower(f.VID + ":" + f.PID)
		}
		ports = append(ports, p)
	}
	return ports, nil
}

// LatencyTimer is not told by this system.
func LatencyTimer(string) int { return 0 }
