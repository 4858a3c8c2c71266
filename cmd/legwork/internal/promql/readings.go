package promql

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"math"
	"net/http"
	"slices"
	"strconv"
	"time"

	"legwork/probe/reading"
)

// ErrNone is a server that has no readings of the meter in the time asked for.
var ErrNone = errors.New("no readings")

// Readings gives the meter's readings in order of time.
func (a *Address) Readings(ctx context.Context, client *http.Client) ([]reading.Reading, error) {
	all, err := a.ask(ctx, client, time.Now())
	if err != nil {
		return nil, fmt.Errorf("%s: %w", a.Meter, err)
	}
	out := merge(all)
	if len(out) == 0 {
		return nil, fmt.Errorf("%s: %w in the time asked for; is the name right, and does the server scrape the desk?",
			a.Meter, ErrNone)
	}
	return out, nil
}

// scrape is one instance at one time: samples that were taken together.
type scrape struct {
	instance string
	at       int64 // ms
}

// merge makes readings of series.
func merge(all []Series) []reading.Reading {
	scrapes := map[scrape]*reading.Reading{}
	infos := map[scrape]map[string]string{}
	for i := range all {
		s := &all[i]
		instance := s.Metric["job"] + "\x00" + s.Metric["instance"]
		for _, v := range s.Values {
			at := scrape{instance, v.At}
			if s.Metric["__name__"] == "legwork_meter_info" {
				infos[at] = s.Metric
				continue
			}
			x, finite := v.Number()
			if !finite {
				continue
			}
			r := scrapes[at]
			if r == nil {
				r = &reading.Reading{}
				scrapes[at] = r
			}
			enter(r, s.Metric, x)
		}
	}
	byTime := map[int64]reading.Reading{} // a reading that was scraped twice, or by two, counts once
	for at, r := range scrapes {
		if r.At.IsZero() || len(r.Channels) == 0 {
			continue
		}
		declare(r, infos[at])
		if old, twice := byTime[r.At.UnixMilli()]; !twice || known(r) > known(&old) {
			byTime[r.At.UnixMilli()] = *r
		}
	}
	out := slices.Collect(maps.Values(byTime))
	slices.SortFunc(out, func(a, b reading.Reading) int { return a.At.Compare(b.At) })
	return out
}

// ofChannel are the metrics of a channel.
var ofChannel = map[string]reading.Quantity{
	"legwork_voltage_volts": reading.Voltage, "legwork_current_amperes": reading.Current,
	"legwork_power_watts":         reading.Power,
	"legwork_reactive_power_vars": reading.Reactive, "legwork_apparent_power_voltamperes": reading.Apparent,
	"legwork_power_factor_ratio": reading.PowerFactor, "legwork_angle_degrees": reading.AngleOf,
	"legwork_voltage_angle_degrees": reading.VoltageAngle, "legwork_current_angle_degrees": reading.CurrentAngle,
}

// ofMeter are the others, with the factor to a reading's unit.
var ofMeter = map[string]struct {
	quantity reading.Quantity
	factor   float64
}{
	"legwork_frequency_hertz": {reading.Frequency, 1}, "legwork_neutral_current_amperes": {reading.NeutralCurrent, 1},
	"legwork_energy_import_joules_total": {reading.TotalEnergyImport,
		1. / 3600}, "legwork_energy_export_joules_total": {reading.TotalEnergyExport, 1. / 3600},
}

// enter puts one sample in its place.
func enter(r *reading.Reading, metric map[string]string, x float64) {
	name := metric["__name__"]
	if q, ok := ofChannel[name]; ok {
		k, err := strconv.Atoi(metric["channel"])
		if err != nil || k < 1 || k > reading.MaxChannels {
			return
		}
		for len(r.Channels) < k {
			r.Channels = append(r.Channels, reading.Channel{})
		}
		r.SetNumber(reading.Point{Quantity: q, Index: k}, reading.Known(x))
		return
	}
	if m, ok := ofMeter[name]; ok {
		r.SetNumber(reading.Point{Quantity: m.quantity}, reading.Known(x*m.factor))
		return
	}
	switch name {
	case "legwork_line_voltage_volts":
		pair, _ := strconv.Atoi(metric["between"]) // another pair is none of ours
		r.SetNumber(reading.Point{Quantity: reading.LineVoltage, Index: pair}, reading.Known(x))
	case "legwork_reading_timestamp_seconds":
		r.At = time.UnixMilli(int64(math.Round(x * 1000))).UTC()
	}
}

var factorSigns = map[string]reading.PowerFactorSign{"power": reading.SignTellsPower, "lag": reading.SignTellsLagging}

// declare enters what the labels of legwork_meter_info say.
func declare(r *reading.Reading, info map[string]string) {
	r.Service = info["service"]
	for k := range r.Channels {
		r.Channels[k].PowerFactorSign = factorSigns[info["power_factor_sign"]]
		r.Channels[k].ReactiveUnsigned = info["reactive_sign"] == "none"
	}
}

// known is how many quantities a reading has.
func known(r *reading.Reading) int {
	n := 0
	for _, p := range reading.Points() {
		if r.Number(p).Known() {
			n++
		}
	}
	return n
}
