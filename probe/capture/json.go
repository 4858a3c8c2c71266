package capture

import (
	"errors"
	"fmt"
	"math"
	"time"

	"legwork/probe/reading"
)

// jsonForm reads a reading from a line of JSON.
type jsonForm struct {
	decoder
	points   vocabulary
	r        reading.Reading
	channels int    // of the reading before
	service  string // of the reading before
}

func (f *jsonForm) parse(line []byte) (reading.Reading, error) {
	f.reset(line)
	f.r = reading.Reading{Channels: make([]reading.Channel, 0, f.channels)}
	if err := f.members(f.member); err != nil {
		return reading.Reading{}, err
	}
	if f.skip(int(f.json.InputOffset()), "") < len(line) {
		return reading.Reading{}, errors.New("something stands after the reading; write one reading a line")
	}
	if f.channels = len(f.r.Channels); f.channels == 0 {
		return reading.Reading{}, errors.New("the reading has no channels")
	}
	return f.r, nil
}

// member takes the value of one name of the reading.
func (f *jsonForm) member(name string) error {
	if q, ok := f.points.quantity(name, reading.Once); ok {
		return f.once(q)
	}
	switch name {
	case nameAt:
		return f.time()
	case nameService:
		return f.serviceName()
	case nameChannels:
		return f.elements(f.channel)
	case nameLineVoltage:
		return f.members(f.pair)
	case nameSkew:
		return f.skew()
	}
	return f.points.unknown(name, reading.Once, nameAt, nameService, nameChannels, nameLineVoltage, nameSkew)
}

func (f *jsonForm) once(q reading.Quantity) error {
	p := reading.Point{Quantity: q}
	if q.IsText() {
		text, err := f.text()
		f.r.SetText(p, text)
		return err
	}
	return f.quantity(p)
}

// quantity takes a number of a point, in its unit.
func (f *jsonForm) quantity(p reading.Point) error {
	x, known, err := f.number()
	if known {
		f.r.SetNumber(p, reading.Known(x))
	}
	return err
}

func (f *jsonForm) time() error {
	text, err := f.text()
	if err != nil || text == "" {
		return err
	}
	f.r.At, err = parseTime(text)
	return err
}

func parseTime(s string) (time.Time, error) {
	at, err := time.Parse(time.RFC3339, s)
	if err != nil {
		return at, wrong("%q is not a time such as 2026-05-04T09:30:00Z", s)
	}
	return at, nil
}

// serviceName takes the name of the service, which hardly ever changes.
func (f *jsonForm) serviceName() error {
	text, err := f.text()
	if text != f.service {
		f.service = text
	}
	f.r.Service = f.service
	return err
}

func (f *jsonForm) pair(name string) error {
	for i, pair := range pairNames {
		if name == pair {
			x, known, err := f.number()
			if known {
				f.r.LineVoltages[i] = reading.Known(x)
			}
			return err
		}
	}
	return unknownName(name, "12, 23 or 31")
}

func (f *jsonForm) skew() error {
	ms, known, err := f.number()
	if !known {
		return err
	}
	f.r.Skew, err = skewOf(ms)
	return err
}

// skewOf bounds what a file says is a Skew, in milliseconds.
func skewOf(ms float64) (time.Duration, error) {
	const day = 24 * time.Hour
	if ms < 0 || ms > float64(day/time.Millisecond) {
		return 0, wrong("%g ms can't lie between the answers of one reading", ms)
	}
	return time.Duration(math.Round(ms * float64(time.Millisecond))), nil
}

// channel takes one element of channels.
func (f *jsonForm) channel() error {
	n := len(f.r.Channels) + 1
	if n > reading.MaxChannels {
		return wrong("a meter of this kind has at most %d", reading.MaxChannels)
	}
	f.r.Channels = append(f.r.Channels, reading.Channel{})
	err := f.members(f.channelMember)
	if e, ok := err.(*fieldError); ok {
		e.where, e.whole = fmt.Sprintf("channel %d: %s", n, e.where), true
	}
	return err
}

// channelMember takes the value of one name of the last channel.
func (f *jsonForm) channelMember(name string) error {
	n := len(f.r.Channels)
	if q, ok := f.points.quantity(name, reading.OncePerChannel); ok {
		return f.quantity(reading.Point{Quantity: q, Index: n})
	}
	c := &f.r.Channels[n-1]
	switch name {
	case namePFSign:
		text, err := f.text()
		if err == nil {
			c.PowerFactorSign, err = parsePowerFactorSign(text)
		}
		return err
	case nameReactiveUnsigned:
		unsigned, err := f.boolean()
		c.ReactiveUnsigned = unsigned
		return err
	}
	return f.points.unknown(name, reading.OncePerChannel, namePFSign, nameReactiveUnsigned)
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
	return 0, wrong("%q is not one of power, lag, none", s)
}
