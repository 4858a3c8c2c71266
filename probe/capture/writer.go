package capture

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"time"

	"github.com/go-json-experiment/json/jsontext"

	"legwork/probe/reading"
)

// Writer writes readings as JSON Lines. Each line goes out whole, with
// one Write, so that a save that is interrupted leaves a capture.
type Writer struct {
	w      io.Writer
	points []reading.Point
	line   bytes.Buffer
	json   jsontext.Encoder
}

// NewWriter writes to w.
func NewWriter(w io.Writer) *Writer { return &Writer{w: w, points: reading.Points()} }

// Write adds one reading. One that no capture can hold (without a time, without
// channels or with too many) is refused, and nothing is written.
func (c *Writer) Write(r reading.Reading) error {
	at, err := timeOf(&r)
	if err != nil {
		return err
	}
	c.line.Reset()
	c.json.Reset(&c.line, jsontext.AllowInvalidUTF8(true), jsontext.EscapeForHTML(true), jsontext.EscapeForJS(true))
	c.reading(&r, at)
	_, err = c.w.Write(c.line.Bytes())
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

// reading writes one reading as an object, its names in the order of the
// README's example. Nothing here fails: it goes to memory, and the readings of
// a Writer hold finite numbers only.
func (c *Writer) reading(r *reading.Reading, at string) {
	c.put(jsontext.BeginObject)
	c.text(nameAt, at)
	c.text(nameService, r.Service)
	c.put(jsontext.String(nameChannels), jsontext.BeginArray)
	for k := range r.Channels {
		c.put(jsontext.BeginObject)
		c.numbers(r, reading.OncePerChannel, k+1)
		c.text(namePFSign, powerFactorSignName(r.Channels[k].PowerFactorSign))
		if r.Channels[k].ReactiveUnsigned {
			c.put(jsontext.String(nameReactiveUnsigned), jsontext.True)
		}
		c.put(jsontext.EndObject)
	}
	c.put(jsontext.EndArray)
	if r.LineVoltages != [3]reading.Value{} {
		c.put(jsontext.String(nameLineVoltage), jsontext.BeginObject)
		for i, pair := range pairNames {
			c.number(pair, r.LineVoltages[i])
		}
		c.put(jsontext.EndObject)
	}
	c.numbers(r, reading.Once, 0)
	c.text(reading.Serial.String(), r.Serial)
	c.text(reading.Model.String(), r.Model)
	c.number(nameSkew, skewMS(r))
	c.put(jsontext.EndObject)
}

func (c *Writer) put(all ...jsontext.Token) {
	for _, t := range all {
		_ = c.json.WriteToken(t)
	}
}

// numbers writes those of one scope and index.
func (c *Writer) numbers(r *reading.Reading, scope reading.Scope, index int) {
	for _, p := range c.points {
		if p.Quantity.Scope() == scope && p.Index == index && !p.Quantity.IsText() {
			c.number(p.Quantity.String(), r.Number(p))
		}
	}
}

// number writes a known quantity, and leaves out one that isn't.
func (c *Writer) number(name string, v reading.Value) {
	if x, ok := v.Get(); ok {
		c.put(jsontext.String(name))
		_ = c.json.WriteValue(appendNumber(c.json.AvailableBuffer(), x))
	}
}

// text writes a text that isn't empty.
func (c *Writer) text(name, s string) {
	if s != "" {
		c.put(jsontext.String(name), jsontext.String(s))
	}
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
