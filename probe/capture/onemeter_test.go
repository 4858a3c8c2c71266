package capture

import (
	"testing"

	"github.com/stretchr/testify/require"

	"legwork/probe/reading"
)

func wyeAt(volts ...float64) reading.Reading {
	r := reading.Reading{Service: "120/208Y", Serial: "TKH-0417", Model: "feeder meter", Frequency: reading.Known(60.0)}
	for _, v := range volts {
		r.Channels = append(r.Channels, reading.Channel{Voltage: reading.Known(v)})
	}
	return r
}

func TestReadingsOfTwoMeters(t *testing.T) {
	for name, c := range map[string]struct {
		change func(r *reading.Reading)
		says   string
	}{
		"the same once more": {func(*reading.Reading) {}, ""},
		"no serial any more": {func(r *reading.Reading) { r.Serial, r.Model, r.Service = "", "", "" }, ""},
		"another serial": {func(r *reading.Reading) { r.Serial = "TKH-0418" },
			`serial "TKH-0418", where line 4 has "TKH-0417"`},
		"another model":   {func(r *reading.Reading) { r.Model = "other" }, `model "other"`},
		"another service": {func(r *reading.Reading) { r.Service = "277/480Y" }, `service "277/480Y"`},
		"another level": {func(r *reading.Reading) { *r = wyeAt(277, 276, 278) },
			"all voltages jump, from 120 V on line 4 to 277 V"},
		"and down": {func(r *reading.Reading) { *r = wyeAt(69, 70, 71) }, "all voltages jump"},
		"another frequency": {func(r *reading.Reading) { r.Frequency = reading.Known(50.0) },
			"the frequency jumps, from 60 Hz on line 4 to 50 Hz"},
		"the supply fails":           {func(r *reading.Reading) { *r = wyeAt(0.2, 0.1, 0) }, ""},
		"one input dies":             {func(r *reading.Reading) { *r = wyeAt(120, 121, 0) }, ""},
		"a neutral is lost":          {func(r *reading.Reading) { *r = wyeAt(180, 60, 120) }, ""},
		"a sag":                      {func(r *reading.Reading) { *r = wyeAt(97, 98, 97) }, ""},
		"not a number, and no count": {func(r *reading.Reading) { r.Channels = nil }, ""},
	} {
		var one OneMeter
		for line := 3; line <= 4; line++ {
			r := wyeAt(120, 121, 119)
			require.NoError(t, one.Check(&r, line))
		}
		r := wyeAt(120, 121, 119)
		c.change(&r)
		err := one.Check(&r, 7)
		if c.says == "" {
			require.NoError(t, err, name)
			continue
		}
		require.ErrorContains(t, err, c.says, name)
		require.ErrorContains(t, err, "readings of two meters", name)
	}
}
