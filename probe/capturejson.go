package probe

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strings"
	"time"

	"legwork/probe/reading"
	"legwork/probe/sheet"
)

// channelLine is a channel as a capture's line writes it.
type channelLine struct {
	Voltage          reading.Value                `json:"voltage,omitzero"`
	Current          reading.Value                `json:"current,omitzero"`
	Power            reading.Value                `json:"power,omitzero"`
	Reactive         reading.Value                `json:"reactive,omitzero"`
	Apparent         reading.Value                `json:"apparent,omitzero"`
	PF               reading.Value                `json:"pf,omitzero"`
	PFSign           string                       `json:"pf_sign,omitempty"` // "power" or "lag"; else it says nothing
	Angle            reading.Maybe[reading.Angle] `json:"angle,omitzero"`
	VoltageAngle     reading.Maybe[reading.Angle] `json:"voltage_angle,omitzero"`
	CurrentAngle     reading.Maybe[reading.Angle] `json:"current_angle,omitzero"`
	EnergyImport     reading.Value                `json:"energy_import,omitzero"`
	EnergyExport     reading.Value                `json:"energy_export,omitzero"`
	ReactiveUnsigned bool                         `json:"reactive_unsigned,omitempty"`
}

type lineVoltages struct {
	AB reading.Value `json:"12,omitzero"`
	BC reading.Value `json:"23,omitzero"`
	CA reading.Value `json:"31,omitzero"`
}

// captureLine is a reading as a capture's line writes it.
type captureLine struct {
	At                  *time.Time    `json:"at"`
	Service             string        `json:"service,omitempty"`
	Channels            []channelLine `json:"channels"`
	LineVoltage         lineVoltages  `json:"line_voltage,omitzero"`
	Frequency           reading.Value `json:"frequency,omitzero"`
	TotalPower          reading.Value `json:"total_power,omitzero"`
	TotalReactive       reading.Value `json:"total_reactive,omitzero"`
	TotalEnergyImport   reading.Value `json:"total_energy_import,omitzero"`
	TotalEnergyExport   reading.Value `json:"total_energy_export,omitzero"`
	TotalApparentEnergy reading.Value `json:"total_apparent_energy,omitzero"`
	CTPrimary           reading.Value `json:"ct_primary,omitzero"`
	NeutralCurrent      reading.Value `json:"neutral_current,omitzero"`
	Serial              string        `json:"serial,omitempty"`
	Model               string        `json:"model,omitempty"`
	SkewMS              reading.Value `json:"skew_ms,omitzero"`
}

func parseJSON(line []byte) (reading.Reading, error) {
	var l captureLine
	d := json.NewDecoder(bytes.NewReader(line))
	d.DisallowUnknownFields()
	if err := d.Decode(&l); err != nil {
		return reading.Reading{}, plainJSON(err)
	}
	if _, err := d.Token(); !errors.Is(err, io.EOF) {
		return reading.Reading{}, errors.New("something stands after the reading; write one reading a line")
	}
	return l.reading()
}

// plainJSON says in plain words what the decoder found.
func plainJSON(err error) error {
	var kind *json.UnmarshalTypeError
	var syntax *json.SyntaxError
	switch {
	case errors.As(err, &kind):
		return fmt.Errorf("%q holds a %s where a number or text of another kind belongs", kind.Field, kind.Value)
	case errors.As(err, &syntax), errors.Is(err, io.ErrUnexpectedEOF), errors.Is(err, io.EOF):
		return fmt.Errorf("not JSON: %w", err)
	case strings.Contains(err.Error(), "unknown field"):
		name := strings.Trim(err.Error()[strings.LastIndex(err.Error(), " ")+1:], `"`)
		if near := sheet.Near(name, captureNames()); near != "" {
			return fmt.Errorf("%q is not known here; did you mean %s?", name, near)
		}
		return fmt.Errorf("%q is not known here", name)
	}
	return errors.New(strings.TrimPrefix(err.Error(), "json: "))
}

func captureNames() []string {
	names := []string{"at", "service", "channels", "pf_sign", "line_voltage"}
	for _, p := range reading.Points() {
		if p.Index <= 1 {
			names = append(names, p.Quantity.String())
		}
	}
	return names
}

func (l *captureLine) reading() (reading.Reading, error) {
	var r reading.Reading
	switch {
	case l.At == nil:
		return r, errors.New("the reading has no time; give `at`, such as 2026-05-04T09:30:00Z")
	case len(l.Channels) == 0:
		return r, errors.New("the reading has no channels")
	case len(l.Channels) > reading.MaxChannels:
		return r, fmt.Errorf("the reading has %d channels; a meter of this kind has at most %d", len(l.Channels), reading.MaxChannels)
	}
	r = reading.Reading{
		At: *l.At, Service: l.Service, Frequency: l.Frequency, TotalPower: l.TotalPower, TotalReactive: l.TotalReactive,
		TotalEnergyImport: l.TotalEnergyImport, TotalEnergyExport: l.TotalEnergyExport, TotalApparentEnergy: l.TotalApparentEnergy,
		CTPrimary: l.CTPrimary, NeutralCurrent: l.NeutralCurrent, Serial: l.Serial, Model: l.Model,
		LineVoltages: [3]reading.Value{l.LineVoltage.AB, l.LineVoltage.BC, l.LineVoltage.CA},
		Skew:         time.Duration(l.SkewMS.Or(0) * float64(time.Millisecond)),
		Channels:     make([]reading.Channel, len(l.Channels)),
	}
	for k := range l.Channels {
		c, err := l.Channels[k].channel()
		if err != nil {
			return r, fmt.Errorf("channel %d: %w", k+1, err)
		}
		r.Channels[k] = c
	}
	return r, nil
}

func (l *channelLine) channel() (reading.Channel, error) {
	c := reading.Channel{
		Voltage: l.Voltage, Current: l.Current, Power: l.Power, Reactive: l.Reactive, Apparent: l.Apparent, PowerFactor: l.PF,
		EnergyImport: l.EnergyImport, EnergyExport: l.EnergyExport, ReactiveUnsigned: l.ReactiveUnsigned,
		Angle: wrapped(l.Angle), VoltageAngle: wrapped(l.VoltageAngle), CurrentAngle: wrapped(l.CurrentAngle),
	}
	sign, err := parsePowerFactorSign(l.PFSign)
	c.PowerFactorSign = sign
	return c, err
}

// wrapped brings an angle from a file into (-180, 180].
func wrapped(a reading.Maybe[reading.Angle]) reading.Maybe[reading.Angle] {
	return a.Map(func(x reading.Angle) reading.Angle { return reading.Degrees(float64(x)) })
}

func parsePowerFactorSign(s string) (reading.PowerFactorSign, error) {
	switch s {
	case "", "none":
		return reading.SignTellsNothing, nil
	case "power":
		return reading.SignTellsPower, nil
	case "lag":
		return reading.SignTellsLagging, nil
	}
	return 0, fmt.Errorf("pf_sign %q is not one of none, power, lag", s)
}

func powerFactorSignName(s reading.PowerFactorSign) string {
	return [...]string{"", "power", "lag"}[s]
}

// CaptureWriter writes readings as JSON Lines, each line with one Write, so
// that a save that is interrupted leaves whole lines.
type CaptureWriter struct {
	w   io.Writer
	buf bytes.Buffer
}

// NewCaptureWriter writes to w.
func NewCaptureWriter(w io.Writer) *CaptureWriter { return &CaptureWriter{w: w} }

// Write adds one reading.
func (c *CaptureWriter) Write(r reading.Reading) error {
	l := captureLine{
		At: &r.At, Service: r.Service, Frequency: r.Frequency, TotalPower: r.TotalPower, TotalReactive: r.TotalReactive,
		TotalEnergyImport: r.TotalEnergyImport, TotalEnergyExport: r.TotalEnergyExport, TotalApparentEnergy: r.TotalApparentEnergy,
		CTPrimary: r.CTPrimary, NeutralCurrent: r.NeutralCurrent, Serial: r.Serial, Model: r.Model,
		LineVoltage: lineVoltages{r.LineVoltages[0], r.LineVoltages[1], r.LineVoltages[2]},
		Channels:    make([]channelLine, len(r.Channels)),
	}
	if r.Skew > 0 {
		l.SkewMS = reading.Known(float64(r.Skew) / float64(time.Millisecond))
	}
	for k, ch := range r.Channels {
		l.Channels[k] = lineOf(ch)
	}
	c.buf.Reset()
	if err := json.NewEncoder(&c.buf).Encode(&l); err != nil {
		return err
	}
	_, err := c.w.Write(c.buf.Bytes())
	return err
}

func lineOf(c reading.Channel) channelLine {
	return channelLine{
		Voltage: c.Voltage, Current: c.Current, Power: c.Power, Reactive: c.Reactive, Apparent: c.Apparent, PF: c.PowerFactor,
		PFSign: powerFactorSignName(c.PowerFactorSign), Angle: c.Angle, VoltageAngle: c.VoltageAngle, CurrentAngle: c.CurrentAngle,
		EnergyImport: c.EnergyImport, EnergyExport: c.EnergyExport, ReactiveUnsigned: c.ReactiveUnsigned,
	}
}
