package capture

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"time"

	"legwork/probe/reading"
)

// Writer writes readings as JSON Lines. Each line goes out whole, with
// one Write, so that a save that is interrupted leaves a capture.
type Writer struct {
	w    io.Writer
	line []byte
}

// NewWriter writes to w.
func NewWriter(w io.Writer) *Writer { return &Writer{w: w} }

// Write adds one reading. One that no capture can hold (without a time, without
// channels or with too many) is refused, and nothing is written.
func (c *Writer) Write(r reading.Reading) error {
	at, err := timeOf(&r)
	if err != nil {
		return err
	}
	c.line = append(appendReading(c.line[:0], &r, at), '\n')
	_, err = c.w.Write(c.line)
	return err
}

// timeOf gives the time of a reading that a capture can hold.
func timeOf(r *reading.Reading) (string, error) {
	switch n := len(r.Channels); {
	case r.At.IsZero():
		return "", errors.New("a reading without a time can't be saved")
	case n == 0 || n > reading.MaxChannels:
		return "", fmt.Errorf("a reading of %d channels can't be saved", n)
	}
	at, err := r.At.MarshalText()
	return string(at), err
}

// object writes one object of JSON.
type object struct{ b []byte }

func (o *object) name(name string) {
	if last := o.b[len(o.b)-1]; last != '{' {
		o.b = append(o.b, ',')
	}
	o.b = append(append(append(o.b, '"'), name...), '"', ':')
}

// number writes a known quantity, and leaves out one that isn't.
func (o *object) number(name string, v reading.Value) {
	if x, ok := v.Get(); ok {
		o.name(name)
		o.b = appendNumber(o.b, x)
	}
}

// text writes a text that isn't empty.
func (o *object) text(name, s string) {
	if s == "" {
		return
	}
	o.name(name)
	quoted, _ := json.Marshal(s) // of a text it never fails
	o.b = append(o.b, quoted...)
}

// points writes the numbers of one scope and index.
func (o *object) points(r *reading.Reading, scope reading.Scope, index int) {
	for _, p := range allPoints {
		if p.Quantity.Scope() == scope && p.Index == index && !p.Quantity.IsText() {
			o.number(p.Quantity.String(), r.Number(p))
		}
	}
}

var allPoints = reading.Points()

// appendReading adds the reading as an object, its names in the order of the
// README's example.
func appendReading(b []byte, r *reading.Reading, at string) []byte {
	o := object{append(b, '{')}
	o.text(nameAt, at)
	o.text(nameService, r.Service)
	o.name(nameChannels)
	o.b = append(o.b, '[')
	for k := range r.Channels {
		if k > 0 {
			o.b = append(o.b, ',')
		}
		o.b = append(o.b, '{')
		o.channel(r, k)
		o.b = append(o.b, '}')
	}
	o.b = append(o.b, ']')
	o.lineVoltages(r)
	o.points(r, reading.Once, 0)
	o.text(reading.Serial.String(), r.Serial)
	o.text(reading.Model.String(), r.Model)
	o.number(nameSkew, skewMS(r))
	return append(o.b, '}')
}

func (o *object) channel(r *reading.Reading, k int) {
	o.points(r, reading.OncePerChannel, k+1)
	o.text(namePFSign, powerFactorSignName(r.Channels[k].PowerFactorSign))
	if r.Channels[k].ReactiveUnsigned {
		o.name(nameReactiveUnsigned)
		o.b = append(o.b, "true"...)
	}
}

func (o *object) lineVoltages(r *reading.Reading) {
	if r.LineVoltages == [3]reading.Value{} {
		return
	}
	o.name(nameLineVoltage)
	o.b = append(o.b, '{')
	for i, pair := range pairNames {
		o.number(pair, r.LineVoltages[i])
	}
	o.b = append(o.b, '}')
}

// pairNames are the pairs of channels, in the order of Reading.LineVoltages.
var pairNames = [3]string{"12", "23", "31"}

func skewMS(r *reading.Reading) reading.Value {
	if r.Skew <= 0 {
		return reading.Value{}
	}
	return reading.Known(float64(r.Skew) / float64(time.Millisecond))
}

func powerFactorSignName(s reading.PowerFactorSign) string {
	switch s {
	case reading.SignTellsPower:
		return "power"
	case reading.SignTellsLagging:
		return "lag"
	}
	return ""
}

// appendNumber adds x in the fewest digits that give it back, with an exponent
// only where a person would want one: below 1e-6 and from 1e21 on, as
// ECMA-262 (Number::toString) has it.
func appendNumber(b []byte, x float64) []byte {
	if size := math.Abs(x); size != 0 && (size < 1e-6 || size >= 1e21) {
		return strconv.AppendFloat(b, x, 'e', -1, 64)
	}
	return strconv.AppendFloat(b, x, 'f', -1, 64)
}
