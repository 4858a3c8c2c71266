package capture

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"

	"github.com/go-json-experiment/json/jsontext"

	"legwork/probe/reading"
)

// Writer writes readings as JSON Lines. Each line goes out whole, with
// one Write, so that a save that is interrupted leaves a capture.
type Writer struct {
	w       io.Writer
	objects [pairs + 1][]column
	line    bytes.Buffer
	json    jsontext.Encoder
	last    reading.Reading // kept here, it costs no memory of its own
}

// NewWriter writes to w.
func NewWriter(w io.Writer) *Writer {
	c := &Writer{w: w}
	for _, one := range columns() {
		c.objects[one.object] = append(c.objects[one.object], one)
	}
	return c
}

// Write adds one reading. One that no capture can hold (without a time, without
// channels or with too many) is refused, and nothing is written.
func (c *Writer) Write(r reading.Reading) error {
	if err := canHold(&r); err != nil {
		return err
	}
	c.line.Reset()
	c.json.Reset(&c.line, jsontext.AllowInvalidUTF8(true), jsontext.AllowDuplicateNames(true),
		jsontext.EscapeForHTML(true), jsontext.EscapeForJS(true))
	c.last = r
	c.reading(&c.last)
	_, err := c.w.Write(c.line.Bytes())
	return err
}

// canHold refuses a reading that no capture can hold.
func canHold(r *reading.Reading) error {
	switch n := len(r.Channels); {
	case r.At.IsZero():
		return errors.New("a reading without a time can't be saved")
	case n == 0 || n > reading.MaxChannels:
		return fmt.Errorf("a reading of %d channels can't be saved", n)
	}
	_, err := r.At.MarshalText()
	return err
}

// reading writes one reading as an object, its names in the order of the
// README's example.
func (c *Writer) reading(r *reading.Reading) {
	first, rest := c.objects[whole][:2], c.objects[whole][2:]
	c.put(jsontext.BeginObject)
	c.members(r, first)
	c.put(jsontext.String(nameChannels), jsontext.BeginArray)
	for k := range r.Channels {
		c.put(jsontext.BeginObject)
		c.members(r, c.objects[k+1])
		c.put(jsontext.EndObject)
	}
	c.put(jsontext.EndArray)
	if r.LineVoltages != [3]reading.Value{} {
		c.put(jsontext.String(nameLineVoltage), jsontext.BeginObject)
		c.members(r, c.objects[pairs])
		c.put(jsontext.EndObject)
	}
	c.members(r, rest)
	c.put(jsontext.EndObject)
}

// members writes what is known of the columns.
func (c *Writer) members(r *reading.Reading, columns []column) {
	for i := range columns {
		one := &columns[i]
		v := one.get(r)
		if !v.given {
			continue
		}
		c.put(jsontext.String(one.within))
		switch one.kind {
		case number:
			_ = c.json.WriteValue(appendNumber(c.json.AvailableBuffer(), v.x))
		case truth:
			c.put(jsontext.True)
		default:
			c.put(jsontext.String(v.text))
		}
	}
}

// put writes to memory, where nothing fails that is JSON.
func (c *Writer) put(all ...jsontext.Token) {
	for _, t := range all {
		_ = c.json.WriteToken(t)
	}
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
