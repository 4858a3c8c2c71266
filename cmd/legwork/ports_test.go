package main

import (
	"bytes"
	"testing"

	"github.com/stretchr/testify/require"

	"legwork/cmd/legwork/internal/screen"
	"legwork/cmd/legwork/internal/source"
	"legwork/probe/link"
)

var someAdapters = []link.PortInfo{
	{Name: "/dev/ttyUSB0", USB: true, Product: "USB Serial", IDs: "1a86:7523", Serial: "TW0042",
		Stable: "/dev/serial/by-id/usb-TW0042"},
	{Name: "/dev/ttyACM0", USB: true},
	{Name: "/dev/ttyS0"},
}

func TestPortsAsText(t *testing.T) {
	for _, test := range []struct {
		name  string
		ports []link.PortInfo
		want  string
	}{
		{"two someAdapters and a port of the board", someAdapters, `> /dev/ttyUSB0     USB Serial, 1a86:7523, serial number TW0042
    keeps this name when plugged in again: /dev/serial/by-id/usb-TW0042
  /dev/ttyACM0
  /dev/ttyS0

Best guess: /dev/ttyUSB0. Next: legwork find /dev/ttyUSB0
`},
		{"no adapter", someAdapters[2:], "  /dev/ttyS0\n"},
		{"none at all", nil,
			"No serial port. Is the adapter plugged in and its driver installed? A converter on the network needs none: " +
				"rtu+tcp://HOST:PORT/UNIT\n"},
	} {
		t.Run(test.name, func(t *testing.T) {
			var out bytes.Buffer
			require.NoError(t, screen.Ports(&out, test.ports))
			require.Equal(t, test.want, out.String())
		})
	}
}

func TestPortsAsJSON(t *testing.T) {
	var out bytes.Buffer
	require.NoError(t, portsJSON(&out, someAdapters))
	require.Equal(t, `{"legwork":1,"ports":[`+
		`{"port":"/dev/ttyUSB0","likely":true,"product":"USB Serial","usb":"1a86:7523","serial":"TW0042",`+
		`"stable":"/dev/serial/by-id/usb-TW0042"},`+
		`{"port":"/dev/ttyACM0","likely":false,"product":null,"usb":null,"serial":null,"stable":null},`+
		`{"port":"/dev/ttyS0","likely":false,"product":null,"usb":null,"serial":null,"stable":null}]}`+"\n", out.String())
	out.Reset()
	require.NoError(t, portsJSON(&out, nil))
	require.Equal(t, `{"legwork":1,"ports":[]}`+"\n", out.String())
}

// Only what is a port by its form is taken for one: a host may begin like it.
func TestWhatIsAPort(t *testing.T) {
	for where, want := range map[string]bool{"/dev/ttyUSB0": true, "COM5": true, "com12": true, "COM": false,
		"compressor":          false,
		"commons.example:502": false, "10.0.0.7": false, "COM5:502": false} {
		_, is := source.PortName(where)
		require.Equal(t, want, is, where)
	}
	for meter, want := range map[string]string{"rtu:///dev/ttyUSB0?baud=9600&unit=3": "/dev/ttyUSB0", "rtu://COM5": "COM5",
		"tcp://10.0.0.7:502/9":      "10.0.0.7:502",
		"rtu+tcp://10.0.0.7:4001/9": "10.0.0.7:4001", "10.0.0.7": "10.0.0.7", "tcp://[::1]:502/9": "[::1]:502"} {
		require.Equal(t, want, bare(meter), meter)
	}
}
