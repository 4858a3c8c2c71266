//go:build !linux && !windows && !(darwin && cgo)

package link

import (
	"path/filepath"
	"strings"
)

// listPorts lists callout devices by their names: without cgo, or on another
// Unix, nothing more is to be had without opening each.
func listPorts() ([]PortInfo, error) {
	var ports []PortInfo
	for _, pattern := range []string{"/dev/cu.*", "/dev/cuaU*", "/dev/cuau*"} {
		names, err := filepath.Glob(pattern)
		if err != nil {
			return nil, err
		}
		for _, name := range names {
			if !strings.HasSuffix(name, ".init") && !strings.HasSuffix(name, ".lock") {
				ports = append(ports, PortInfo{Name: name, USB: strings.Contains(name, "usb") || strings.Contains(name, "cuaU")})
			}
		}
	}
	return ports, nil
}

// LatencyTimer is not told by this system.
func LatencyTimer(string) int { return 0 }
