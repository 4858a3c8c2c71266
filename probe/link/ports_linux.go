package link

import (
	"os"
	"path/filepath"
	"strings"
)

// listPorts reads what the kernel tells in /sys.
func listPorts() ([]PortInfo, error) { return portsUnder("/sys/class/tty", "/dev") }

func portsUnder(class, dev string) ([]PortInfo, error) {
	entries, err := os.ReadDir(class)
	if os.IsNotExist(err) {
		return nil, nil // a system without serial ports at all
	}
	if err != nil {
		return nil, err
	}
	stable := stableNames(filepath.Join(dev, "serial", "by-id"))
	var ports []PortInfo
	for _, e := range entries {
		device, err := filepath.EvalSymlinks(filepath.Join(class, e.Name(), "device"))
		if err != nil || isPlaceholder(class, e.Name()) {
			continue
		}
		p := PortInfo{Name: filepath.Join(dev, e.Name())}
		p.Stable = stable[p.Name]
		p.addUSB(device)
		ports = append(ports, p)
	}
	return ports, nil
}

// isPlaceholder reports one of the built-in driver's ports that no chip stands
// behind: its type is 0, "unknown" (Linux, serial_core.h, PORT_UNKNOWN).
func isPlaceholder(class, name string) bool {
	kind, err := os.ReadFile(filepath.Join(class, name, "type"))
	return err == nil && strings.TrimSpace(string(kind)) == "0"
}

// addUSB takes what a USB device says of itself from the folder above the port
// that has a vendor in it.
func (p *PortInfo) addUSB(device string) {
	for dir := device; len(dir) > 1; dir = filepath.Dir(dir) {
		vendor := line(dir, "idVendor")
		if vendor == "" {
			continue
		}
		p.USB, p.IDs = true, vendor+":"+line(dir, "idProduct")
		p.Product, p.Serial = line(dir, "product"), line(dir, "serial")
		return
	}
}

// line is what a file of /sys says, made printable.
func line(dir, name string) string {
	text, err := os.ReadFile(filepath.Join(dir, name))
	if err != nil {
		return ""
	}
	return printable([]byte(strings.TrimSpace(string(text))))
}

func stableNames(dir string) map[string]string {
	names := map[string]string{}
	entries, _ := os.ReadDir(dir)
	for _, e := range entries {
		name := filepath.Join(dir, e.Name())
		if target, err := filepath.EvalSymlinks(name); err == nil {
			names[target] = name
		}
	}
	return names
}

// LatencyTimer is what a USB adapter waits before it hands a few bytes on, in
// ms; 0 where the system doesn't tell.
func LatencyTimer(port string) int {
	target, err := filepath.EvalSymlinks(port)
	if err != nil {
		return 0
	}
	ms := 0
	for _, c := range line("/sys/bus/usb-serial/devices/"+filepath.Base(target), "latency_timer") {
		if c < '0' || c > '9' || ms > 1000 {
			return 0
		}
		ms = 10*ms + int(c-'0')
	}
	return ms
}
