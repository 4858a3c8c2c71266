package capture

import (
	"fmt"
	"math"

	"legwork/probe/reading"
)

// OneMeter holds that readings are of one meter. What one meter never does between two of
// them tells that they are of two: another serial number, model or service, or another
// level of all voltages or of the frequency. The zero value is ready.
type OneMeter struct {
	texts [3]told
	volts level
	hertz level
}

// told is a text that a meter gives of itself.
type told struct {
	text string
	line int
}

// level is a quantity that one meter's readings keep, and the line that it was last on.
type level struct {
	values [reading.MaxChannels]float64
	n      int
	line   int
}

// Bounds of a level: the ratio by which all voltages of one service never jump at once
// (the widest band of IEC 60038, 3.1, and ANSI C84.1 is a tenth either way), and a
// frequency that no supply changes by. Our choice.
const (
	voltsJump  = 1.3
	leastVolts = 30.0 // V: a supply that fails or comes back is no other meter
	hertzJump  = 5.0  // Hz
	leastHertz = 30.0
)

var textNames = [...]string{"serial", "model", "service"}

// Check says why a reading can't be of the meter that the earlier ones are of; line is
// where it stands.
func (d *OneMeter) Check(r *reading.Reading, line int) error {
	for i, text := range [...]string{r.Serial, r.Model, r.Service} {
		t := &d.texts[i]
		switch {
		case text == "":
			continue
		case t.text != "" && t.text != text:
			return twoMeters(fmt.Sprintf("%s %q, where line %d has %q", textNames[i], printable(text), t.line,
				printable(t.text)))
		}
		*t = told{text, line}
	}
	if err := d.checkVolts(r, line); err != nil {
		return err
	}
	return d.checkHertz(r, line)
}

func (d *OneMeter) checkVolts(r *reading.Reading, line int) error {
	now := level{line: line}
	for k := range min(len(r.Channels), len(now.values)) {
		v := math.Abs(r.Channels[k].Voltage.Or(0))
		if !(v >= leastVolts) || math.IsInf(v, 0) {
			return nil
		}
		now.values[k] = v
		now.n++
	}
	if now.n == 0 {
		return nil
	}
	before := d.volts
	d.volts = now
	if before.n != now.n {
		return nil
	}
	for _, sign := range [...]float64{1, -1} {
		all := true
		for k := range now.n {
			all = all && sign*math.Log(now.values[k]/before.values[k]) > math.Log(voltsJump)
		}
		if all {
			return twoMeters(fmt.Sprintf("all voltages jump, from %.4g V on line %d to %.4g V", before.values[0],
				before.line, now.values[0]))
		}
	}
	return nil
}

func (d *OneMeter) checkHertz(r *reading.Reading, line int) error {
	f, ok := r.Frequency.Get()
	if !ok || !(f >= leastHertz) || math.IsInf(f, 0) {
		return nil
	}
	before := d.hertz
	d.hertz = level{values: [3]float64{f}, n: 1, line: line}
	if before.n > 0 && math.Abs(f-before.values[0]) > hertzJump {
		return twoMeters(fmt.Sprintf("the frequency jumps, from %.4g Hz on line %d to %.4g Hz", before.values[0],
			before.line, f))
	}
	return nil
}

func twoMeters(why string) error {
	return fmt.Errorf("%s: readings of two meters; a capture is of one, so part them into two files", why)
}
