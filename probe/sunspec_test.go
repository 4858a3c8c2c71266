package probe

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"legwork/probe/link"
	"legwork/probe/reading"
)

// device is the registers of a SunSpec device, put together by hand from the
// models' published offsets (sunspec/models, 7abdf89, json/model_N.json).
type device struct {
	at        uint16
	registers map[uint16]uint16
}

func newDevice(base uint16) *device {
	d := &device{base, map[uint16]uint16{}}
	return d.words(0x5375, 0x6E53)
}

func (d *device) words(words ...uint16) *device {
	for _, w := range words {
		d.registers[d.at] = w
		d.at++
	}
	return d
}

// model adds a model of a length whose registers are as told by offset, counted
// from its ID, and else those of 'not implemented' for signed integers.
func (d *device) model(id, length int, values map[int]uint16) *device {
	d.words(uint16(id), uint16(length))
	for offset := 2; offset < length+2; offset++ {
		w, ok := values[offset]
		if !ok {
			w = 0x8000
		}
		d.words(w)
	}
	return d
}

func (d *device) common(length int) *device {
	values := map[int]uint16{}
	for offset := 2; offset < length+2; offset++ {
		values[offset] = 0
	}
	values[18], values[19] = 'K'<<8|'3', 0          // Md
	values[50], values[51] = 'T'<<8|'W', '4'<<8|'2' // SN
	return d.model(1, length, values)
}

func (d *device) end() *device { return d.words(0xFFFF, 0) }

// meter203 reads 120.1 V and 12.34 A on leg A, 1450 W, lag 210 var, and pf 99 %;
// of the other legs it gives the currents alone.
var meter203 = map[int]uint16{
	3: 1234, 4: 1, 5: 0, 6: 0xFFFE, // amperes, x 10^-2
	8: 1201, 15: 0xFFFF, // volts, x 10^-1
	16: 5998, 17: 0xFFFE, // hertz
	18: 145, 19: 145, 22: 1, // watts, x 10
	29: 210, 32: 0, // var
	34: 99, 37: 0, // percent
	46: 0, 47: 0, 48: 1, 49: 2, 50: 0, 51: 0, 54: 3, // Wh: 0 is none; 65538 x 10^3
	105: 0, 106: 0,
}

func (d *device) bank() *bank {
	return &bank{registers: d.registers, refusal: link.IllegalDataAddress}
}

func TestSunSpecDevices(t *testing.T) {
	tests := []struct {
		name   string
		device *device
	}{
		{"marker at 40000", newDevice(40000).common(66).model(203, 105, meter203).end()},
		{"marker at 0", newDevice(0).common(66).model(203, 105, meter203).end()},
		{"marker at 50000, common model without its pad", newDevice(50000).common(65).model(203, 105, meter203).end()},
		{"no end model", newDevice(40000).common(66).model(203, 105, meter203)},
		{"unknown models before and between", newDevice(40000).model(64001, 7, nil).common(66).model(11, 13, nil).model(12, 0, nil).model(203, 105, meter203).end()},
		{"another meter behind", newDevice(40000).common(66).model(203, 105, meter203).model(201, 105, map[int]uint16{3: 9, 6: 0}).end()},
		{"two common models", newDevice(40000).common(66).model(203, 105, meter203).common(66).end()},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			b := test.device.bank()
			m, err := FindSunSpec(t.Context(), b, 1)
			require.NoError(t, err)
			require.Equal(t, "SunSpec meter, model 203", m.Meter)
			r, err := NewMeter(b, m, MeterOptions{}).Read(t.Context())
			require.NoError(t, err)
			require.Equal(t, "TW42", r.Serial)
			require.Equal(t, "K3", r.Model)
			require.Len(t, r.Channels, 3)
			a := r.Channels[0]
			for name, c := range map[string]struct {
				want float64
				got  reading.Value
			}{
				"voltage": {120.1, a.Voltage}, "current": {12.34, a.Current}, "power": {1450, a.Power}, "reactive": {210, a.Reactive},
				"pf": {0.99, a.PowerFactor}, "import": {65538e3, a.EnergyImport}, "frequency": {59.98, r.Frequency},
				"total": {1450, r.TotalPower}, "current of B": {0.01, r.Channels[1].Current}, "current of C": {0, r.Channels[2].Current},
			} {
				x, known := c.got.Get()
				require.True(t, known, name)
				require.InDelta(t, c.want, x, 1e-6*math.Max(1, c.want), name)
			}
			for name, v := range map[string]reading.Value{
				"voltage of B": r.Channels[1].Voltage, "power of B": r.Channels[1].Power, "reactive of C": r.Channels[2].Reactive,
				"apparent": a.Apparent, "an accumulator of 0": r.TotalEnergyImport, "an accumulator without a value": r.Channels[1].EnergyImport,
			} {
				_, known := v.Get()
				require.False(t, known, name)
			}
		})
	}
}

// A value whose scale factor isn't implemented can't be known.
func TestSunSpecWithoutAScaleFactor(t *testing.T) {
	values := map[int]uint16{3: 1234, 8: 1201, 15: 0}
	b := newDevice(40000).common(66).model(203, 105, values).end().bank()
	m, err := FindSunSpec(t.Context(), b, 1)
	require.NoError(t, err)
	r, err := NewMeter(b, m, MeterOptions{}).Read(t.Context())
	require.NoError(t, err)
	require.Equal(t, reading.Known(1201.0), r.Channels[0].Voltage)
	_, known := r.Channels[0].Current.Get()
	require.False(t, known)
}

// A model that says it is shorter than the standard has it is read as far as it
// goes: what follows belongs to the next.
func TestSunSpecModelCutShort(t *testing.T) {
	b := newDevice(40000).common(66).model(203, 30, meter203).model(64001, 90, nil).end().bank()
	m, err := FindSunSpec(t.Context(), b, 1)
	require.NoError(t, err)
	for _, p := range m.Points() {
		if !p.Quantity.IsText() {
			require.Less(t, max(p.Address, p.ExponentAt), 40000+2+68+32, p.String())
		}
	}
	r, err := NewMeter(b, m, MeterOptions{}).Read(t.Context())
	require.NoError(t, err)
	require.Equal(t, reading.Known(1450.0), r.Channels[0].Power)
	_, known := r.Channels[0].Reactive.Get()
	require.False(t, known, "its scale factor lies beyond the end")
}

func TestNoSunSpecMeter(t *testing.T) {
	endless := newDevice(0)
	for range 200 {
		endless.words(64001, 0)
	}
	tests := []struct {
		name string
		bank *bank
		want string
	}{
		{"no marker", (&device{40000, map[uint16]uint16{}}).words(1, 2).bank(), "no SunSpec marker at registers 40000, 0 or 50000"},
		{"registers refused", (&device{}).bank(), "no SunSpec marker"},
		{"no models", newDevice(40000).end().bank(), "hold no meter (201 to 204 or 211 to 214): none at all"},
		{"no meter among them", newDevice(40000).common(66).model(103, 50, nil).end().bank(), "hold no meter (201 to 204 or 211 to 214): 1, 103"},
		{"a meter of no length", newDevice(40000).common(66).model(203, 0, nil).end().bank(), "hold no meter"},
		{"a chain that never ends", endless.bank(), "go on beyond 64; this chain can't be right"},
		{"a length beyond the registers", newDevice(50000).common(66).words(203, 0xFFFF).bank(), "exception 2"},
		{"behind a gateway that finds nobody", &bank{refusal: link.GatewayTarget}, "exception 11"},
		{"busy", &bank{refusal: link.ServerDeviceBusy}, "exception 6"},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			m, err := FindSunSpec(t.Context(), test.bank, 1)
			if err == nil {
				_, err = NewMeter(test.bank, m, MeterOptions{}).Read(t.Context())
			}
			require.ErrorContains(t, err, test.want)
			require.LessOrEqual(t, len(test.bank.asked), 3+64+1+8)
		})
	}
}

// Where each point stands in the float models and in the integer models, and
// where the integers' scale factors do: sunspec/models, 7abdf89, json/model_203.json
// and model_213.json, offsets counted from the ID.
var published = []struct {
	point                 string
	float, integer, scale int
}{
	{"current.1", 4, 3, 6}, {"current.2", 6, 4, 6}, {"current.3", 8, 5, 6},
	{"voltage.1", 12, 8, 15}, {"voltage.2", 14, 9, 15}, {"voltage.3", 16, 10, 15},
	{"line_voltage.12", 20, 12, 15}, {"line_voltage.23", 22, 13, 15}, {"line_voltage.31", 24, 14, 15},
	{"frequency", 26, 16, 17},
	{"total_power", 28, 18, 22}, {"power.1", 30, 19, 22}, {"power.2", 32, 20, 22}, {"power.3", 34, 21, 22},
	{"apparent.1", 38, 24, 27}, {"apparent.2", 40, 25, 27}, {"apparent.3", 42, 26, 27},
	{"total_reactive", 44, 28, 32}, {"reactive.1", 46, 29, 32}, {"reactive.2", 48, 30, 32}, {"reactive.3", 50, 31, 32},
	{"pf.1", 54, 34, 37}, {"pf.2", 56, 35, 37}, {"pf.3", 58, 36, 37},
	{"total_energy_export", 60, 38, 54}, {"energy_export.1", 62, 40, 54}, {"energy_export.2", 64, 42, 54}, {"energy_export.3", 66, 44, 54},
	{"total_energy_import", 68, 46, 54}, {"energy_import.1", 70, 48, 54}, {"energy_import.2", 72, 50, 54}, {"energy_import.3", 74, 52, 54},
}

// Every point of a model stands where the standard's files have it: each holds
// a number of its own.
func TestSunSpecOffsets(t *testing.T) {
	integers, floats := map[int]uint16{}, map[int]uint16{}
	for i, p := range published {
		n := uint16(10 + i)
		bits := math.Float32bits(float32(n))
		floats[p.float], floats[p.float+1] = uint16(bits>>16), uint16(bits)
		integers[p.scale] = 1
		integers[p.integer] = n
		if p.integer >= 38 { // acc32, two registers
			integers[p.integer], integers[p.integer+1] = 0, n
		}
	}
	for model, device := range map[int]*device{
		203: newDevice(40000).common(66).model(203, 105, integers).end(),
		213: newDevice(40000).common(66).model(213, 124, floats).end(),
	} {
		b := device.bank()
		m, err := FindSunSpec(t.Context(), b, 1)
		require.NoError(t, err)
		r, err := NewMeter(b, m, MeterOptions{}).Read(t.Context())
		require.NoError(t, err)
		got := map[string]float64{}
		for _, p := range m.Points() {
			if x, known := r.Number(p.Point).Get(); known {
				got[p.Point.String()] = x
			}
		}
		require.Len(t, got, len(published), model)
		for i, p := range published {
			want := float64(10 + i)
			if model == 203 {
				want *= 10 // the scale factor
				if p.point[:2] == "pf" {
					want /= 100 // percent
				}
			}
			require.InDelta(t, want, got[p.point], 1e-9, "%d %s", model, p.point)
		}
	}
}
