package capture

import (
	"math"
	"strconv"
	"time"

	"legwork/probe/reading"
)

// column is one value of a reading in a file: a column of CSV, or a name in an
// object of JSON.
type column struct {
	name   string // in CSV: "power.1"
	within string // in its object of JSON: "power"
	object object
	kind   kind
	get    func(r *reading.Reading) value
	set    func(r *reading.Reading, v value) error // of a value that is given
	once   bool                                    // said of a whole file, which CSV has no place for
}

// object is where a value stands in a line of JSON: 1 to 3 are the channels.
type object int

const (
	whole object = 0 // the reading itself
	pairs object = reading.MaxChannels + 1
)

type kind int

const (
	text kind = iota
	number
	truth
)

// value is what stands in a column. A truth is given where it is true.
type value struct {
	given bool
	x     float64
	text  string
}

// The names of a capture that aren't quantities.
const (
	nameAt          = "at"
	nameChannels    = "channels"
	nameLineVoltage = "line_voltage"
)

// columns lists all there are, in the order of CSV. Of each object the order is
// also that of JSON; the time and the service stand before the channels.
func columns() []column {
	all := []column{
		{name: nameAt, set: setTime, get: func(r *reading.Reading) value { return textValue(r.At.Format(time.RFC3339Nano)) }},
		{name: "service", set: func(r *reading.Reading, v value) error { r.Service = v.text; return nil },
			get: func(r *reading.Reading) value { return textValue(r.Service) }},
	}
	for _, p := range reading.Points() {
		all = append(all, pointColumn(p))
	}
	for k := range reading.MaxChannels {
		all = append(all, signColumn(k), unsignedColumn(k))
	}
	all = append(all, column{name: "skew_ms", kind: number, set: setSkew, get: skew})
	all = append(all,
		column{name: "meter", once: true, set: func(r *reading.Reading, v value) error { r.Meter = v.text; return nil },
			get: func(r *reading.Reading) value { return textValue(r.Meter) }},
		column{name: "map", once: true, set: func(r *reading.Reading, v value) error { r.Map = v.text; return nil },
			get: func(r *reading.Reading) value { return textValue(r.Map) }})
	for i := range all {
		if all[i].within == "" {
			all[i].within = all[i].name
		}
	}
	return all
}

func textValue(s string) value { return value{given: s != "", text: s} }

func pointColumn(p reading.Point) column {
	c := column{name: p.String(), within: p.Quantity.String(), object: object(p.Channel())}
	if p.Quantity.Scope() == reading.OncePerPair {
		c.within, c.object = strconv.Itoa(p.Index), pairs
	}
	if p.Quantity.IsText() {
		c.get = func(r *reading.Reading) value { return textValue(r.Text(p)) }
		c.set = func(r *reading.Reading, v value) error { r.SetText(p, v.text); return nil }
		return c
	}
	c.kind = number
	c.get = func(r *reading.Reading) value { x, ok := r.Number(p).Get(); return value{given: ok, x: x} }
	c.set = func(r *reading.Reading, v value) error { r.SetNumber(p, reading.Known(v.x)); return nil }
	return c
}

// ofChannel is a column of channel k, counted from 0, that isn't a point.
func ofChannel(name string, k int, get func(c *reading.Channel) value) column {
	return column{name: name + "." + strconv.Itoa(k+1), within: name, object: object(k + 1),
		get: func(r *reading.Reading) value {
			if k >= len(r.Channels) {
				return value{}
			}
			return get(&r.Channels[k])
		}}
}

func signColumn(k int) column {
	words := [...]string{"none", "power", "lag"} // by reading.PowerFactorSign
	c := ofChannel("pf_sign", k, func(c *reading.Channel) value {
		if s := int(c.PowerFactorSign); s > 0 && s < len(words) {
			return textValue(words[s])
		}
		return value{}
	})
	c.set = func(r *reading.Reading, v value) error {
		for sign, word := range words {
			if v.text == word {
				r.Channels[k].PowerFactorSign = reading.PowerFactorSign(sign)
				return nil
			}
		}
		return wrong("%q is not one of power, lag, none", v.text)
	}
	return c
}

func unsignedColumn(k int) column {
	c := ofChannel("reactive_unsigned", k, func(c *reading.Channel) value { return value{given: c.ReactiveUnsigned} })
	c.kind = truth
	c.set = func(r *reading.Reading, v value) error { r.Channels[k].ReactiveUnsigned = true; return nil }
	return c
}

func setTime(r *reading.Reading, v value) (err error) {
	if r.At, err = time.Parse(time.RFC3339, v.text); err != nil {
		return wrong("%q is not a time such as 2026-05-04T09:30:00Z", v.text)
	}
	return nil
}

func skew(r *reading.Reading) value {
	return value{given: r.Skew > 0, x: float64(r.Skew) / float64(time.Millisecond)}
}

// setSkew bounds what a file says is a Skew, in milliseconds.
func setSkew(r *reading.Reading, v value) error {
	const day = 24 * time.Hour
	if v.x < 0 || v.x > float64(day/time.Millisecond) {
		return wrong("%g ms can't lie between the answers of one reading", v.x)
	}
	r.Skew = time.Duration(math.Round(v.x * float64(time.Millisecond)))
	return nil
}
