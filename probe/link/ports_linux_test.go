package link

import (
	"os"
	"path/filepath"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
)

// system is a made-up /sys/class/tty and /dev under one folder.
type system struct {
	t    *testing.T
	root string
}

func newSystem(t *testing.T) system {
	s := system{t, t.TempDir()}
	for _, dir := range []string{"class", "dev/serial/by-id", "devices"} {
		require.NoError(t, os.MkdirAll(filepath.Join(s.root, dir), 0o755))
	}
	return s
}

func (s system) write(name, text string) {
	name = filepath.Join(s.root, name)
	require.NoError(s.t, os.MkdirAll(filepath.Dir(name), 0o755))
	require.NoError(s.t, os.WriteFile(name, []byte(text+"\n"), 0o644))
}

func (s system) link(name, to string) {
	name = filepath.Join(s.root, name)
	require.NoError(s.t, os.MkdirAll(filepath.Dir(name), 0o755))
	require.NoError(s.t, os.Symlink(filepath.Join(s.root, to), name))
}

// usb plugs an adapter in: the facts stand at the device, the port two folders
// below it, and a name that stays points to the port.
func (s system) usb(port, device string, facts map[string]string) {
	for name, text := range facts {
		s.write(filepath.Join("devices", device, name), text)
	}
	below := filepath.Join("devices", device, "1.0", port)
	require.NoError(s.t, os.MkdirAll(filepath.Join(s.root, below), 0o755))
	s.link(filepath.Join("class", port, "device"), below)
	s.write(filepath.Join("dev", port), "")
}

// builtIn is a port of the board; kind 0 has no chip behind it.
func (s system) builtIn(port, kind string) {
	below := filepath.Join("devices", "platform", port)
	require.NoError(s.t, os.MkdirAll(filepath.Join(s.root, below), 0o755))
	s.link(filepath.Join("class", port, "device"), below)
	s.write(filepath.Join("class", port, "type"), kind)
}

func (s system) ports() []PortInfo {
	ports, err := portsUnder(filepath.Join(s.root, "class"), filepath.Join(s.root, "dev"))
	require.NoError(s.t, err)
	for i := range ports {
		ports[i].Name, _ = filepath.Rel(s.root, ports[i].Name)
		if ports[i].Stable != "" {
			ports[i].Stable, _ = filepath.Rel(s.root, ports[i].Stable)
		}
	}
	return sorted(ports)
}

func TestPortsOfASystem(t *testing.T) {
	s := newSystem(t)
	s.builtIn("ttyS0", "4")
	s.builtIn("ttyS1", "0") // a placeholder
	s.builtIn("ttyAMA0", "32")
	s.usb("ttyUSB10", "2-1", map[string]string{"idVendor": "1a86", "idProduct": "7523", "product": "USB Serial"})
	s.usb("ttyUSB2", "1-1", map[string]string{"idVendor": "0403", "idProduct": "6001", "product": "Bench\x1badapter", "serial": "TW0042"})
	s.link("dev/serial/by-id/usb-Bench_adapter_TW0042-if00-port0", "dev/ttyUSB2")
	s.link("dev/serial/by-id/usb-gone", "dev/ttyUSB9") // leads nowhere
	require.NoError(t, os.MkdirAll(filepath.Join(s.root, "class", "tty1"), 0o755))
	require.NoError(t, os.MkdirAll(filepath.Join(s.root, "class", "console"), 0o755))

	require.Equal(t, []PortInfo{
		{Name: "dev/ttyUSB2", USB: true, Product: "Bench?adapter", IDs: "0403:6001", Serial: "TW0042", Stable: "dev/serial/by-id/usb-Bench_adapter_TW0042-if00-port0"},
		{Name: "dev/ttyUSB10", USB: true, Product: "USB Serial", IDs: "1a86:7523"},
		{Name: "dev/ttyAMA0"},
		{Name: "dev/ttyS0"},
	}, s.ports())
}

func TestSystemWithoutPorts(t *testing.T) {
	require.Empty(t, newSystem(t).ports())
	ports, err := portsUnder(filepath.Join(t.TempDir(), "no such folder"), "/dev")
	require.NoError(t, err)
	require.Empty(t, ports)
}

// Ports of this machine are named as files that are there; none is opened,
// which this can't show, but the list is made of folders and links alone.
func TestPortsOfThisMachine(t *testing.T) {
	ports, err := Ports()
	require.NoError(t, err)
	require.True(t, slices.IsSortedFunc(ports, func(a, b PortInfo) int { return a.rank() - b.rank() }))
}
