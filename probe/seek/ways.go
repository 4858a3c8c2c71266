package seek

import (
	"context"
	"fmt"
	"time"

	"legwork/probe/link"
)

// speeds and parities of meters, the likeliest first. The order is common
// practice, no source; the standard's own default is 19200 baud with even
// parity (MODBUS over Serial Line V1.02, 2.5.1; the speed from memory).
var (
	likeliest = []link.Serial{
		{Baud: 9600, Parity: link.NoParity}, {Baud: 19200, Parity: link.EvenParity}, {Baud: 9600, Parity: link.EvenParity},
		{Baud: 19200, Parity: link.NoParity}, {Baud: 38400, Parity: link.NoParity}, {Baud: 115200, Parity: link.NoParity},
		{Baud: 38400, Parity: link.EvenParity}, {Baud: 115200, Parity: link.EvenParity}, {Baud: 57600, Parity: link.NoParity},
		{Baud: 57600, Parity: link.EvenParity}, {Baud: 4800, Parity: link.NoParity}, {Baud: 4800, Parity: link.EvenParity},
		{Baud: 2400, Parity: link.NoParity}, {Baud: 2400, Parity: link.EvenParity}, {Baud: 1200, Parity: link.NoParity},
		{Baud: 1200, Parity: link.EvenParity},
	}
	oddSpeeds = []int{9600, 19200, 38400, 115200, 57600, 4800, 2400, 1200}
)

// SerialWays are the settings of a serial port, the likeliest first.
func SerialWays(port string) []Way {
	var ways []Way
	settings := likeliest
	for _, baud := range oddSpeeds {
		settings = append(settings[:len(settings):len(settings)], link.Serial{Baud: baud, Parity: link.OddParity})
	}
	for _, s := range settings {
		s.Port, s.StopBits = port, 1
		ways = append(ways, serialWay(s))
	}
	return ways
}

func serialWay(s link.Serial) Way {
	parity := [...]string{"", "no", "even", "odd"}[s.Parity]
	key := [...]string{"", "none", "even", "odd"}[s.Parity]
	return Way{
		Name: fmt.Sprintf("%d baud, %s parity", s.Baud, parity),
		Open: func(ctx context.Context, timeout time.Duration) (link.Counted, error) {
			return opened(link.OpenRTU(ctx, s, link.Options{Timeout: timeout}))
		},
		Cost: func(timeout time.Duration) Cost {
			alone := timeout + s.WireTime(1)
			return Cost{alone, alone + timeout + timeout/8}
		},
		Meter: func(unit byte) string {
			return fmt.Sprintf("rtu://%s?baud=%d&parity=%s&unit=%d", s.Port, s.Baud, key, unit)
		},
	}
}

// NetworkWays are the ways of a network address: Modbus TCP, and RTU frames
// where a port is named.
func NetworkWays(address string, named bool) []Way {
	ways := []Way{{
		Name: "Modbus TCP",
		Open: func(ctx context.Context, timeout time.Duration) (link.Counted, error) {
			return opened(link.DialTCP(ctx, address, link.Options{Timeout: timeout}))
		},
		Cost:  func(timeout time.Duration) Cost { return Cost{timeout * 9 / 8, timeout * 9 / 8} },
		Meter: func(unit byte) string { return fmt.Sprintf("tcp://%s/%d", address, unit) },
	}}
	if named {
		ways = append(ways, Way{
			Name: "RTU over TCP",
			Open: func(ctx context.Context, timeout time.Duration) (link.Counted, error) {
				return opened(link.DialRTU(ctx, address, link.Options{Timeout: timeout}))
			},
			Cost:  func(timeout time.Duration) Cost { return Cost{timeout * 9 / 8, timeout * 9 / 4} },
			Meter: func(unit byte) string { return fmt.Sprintf("rtu+tcp://%s/%d", address, unit) },
		})
	}
	return ways
}

// opened keeps a nil link from becoming a link.Counted that isn't nil.
func opened[C link.Counted](c C, err error) (link.Counted, error) {
	if err != nil {
		return nil, err
	}
	return c, nil
}
