package screen

import (
	"bytes"
	"testing"

	"github.com/stretchr/testify/require"

	"legwork/probe/learn"
	"legwork/probe/learn/image"
	"legwork/probe/link"
	"legwork/probe/reading"
	"legwork/probe/regmap"
)

func learnedPoint(q reading.Quantity, k int, kind regmap.Type, scale, reads, probability float64) learn.Point {
	p := learn.Point{Reads: reads, Probability: probability}
	p.Point.Point = reading.Point{Quantity: q, Index: k}
	p.Type, p.Scale, p.Count, p.Address = kind, scale, 1, 10*int(q)+k
	return p
}

func learnedText(t *testing.T, found Registers, r *learn.Result) string {
	var out bytes.Buffer
	if found.Image == nil {
		found.Image = &image.Image{}
	}
	require.NoError(t, Learned(&out, found, r, Style{}))
	return out.String()
}

// Whatever isn't settled, the screen says what to measure next; it is no dead end.
func TestLearnedSaysWhatToMeasure(t *testing.T) {
	volts := learnedPoint(reading.Voltage, 1, regmap.U16, 0.1, 121.3, 0.99)
	amps := learnedPoint(reading.Current, 1, regmap.U16, 0.01, 27.4, 0.99)
	watts := learnedPoint(reading.Power, 1, regmap.S32, 0.1, 3304.5, 0.54)
	of := func(q reading.Quantity, k int) reading.Point { return reading.Point{Quantity: q, Index: k} }

	text := learnedText(t, Registers{Asked: 340}, &learn.Result{Lacked: []reading.Point{of(reading.Voltage, 1),
		of(reading.Current, 1), of(reading.Power, 1)}})
	require.Contains(t, text, `These together would settle most: voltage of channel 1; current of channel 1; power of `+
		`channel 1. Then: --measured "channel 1: ... V" --measured "channel 1: ... A" --measured "channel 1: ... kW"`)
	require.Contains(t, text, "If they don't: is there voltage at the meter")

	text = learnedText(t, Registers{}, &learn.Result{Channels: 2, Points: []learn.Point{volts, amps},
		Open: []learn.Point{watts}, Lacked: []reading.Point{of(reading.Current, 2), of(reading.Power, 2),
			of(reading.Power, 1), of(reading.TotalPower, 0)}})
	require.Contains(t, text, "The power may be 32 bits or 16 bits long: both read the same below 6.554 kW.")
	require.Contains(t, text, "current of channel 2; power of channels 2 and 1; total power. Then: ")
	require.NotContains(t, text, "is there voltage")

	text = learnedText(t, Registers{}, &learn.Result{Channels: 1, Open: []learn.Point{volts}, Rival: []learn.Point{
		learnedPoint(reading.Voltage, 1, regmap.U16, 1, 1213, 0.3)}})
	require.Contains(t, text, "The next likeliest reading:\n  voltage ")
	require.Contains(t, text, "All that instruments and the display show was given. Read again while loads change")

	text = learnedText(t, Registers{}, &learn.Result{Channels: 1, Settled: true, Points: []learn.Point{volts, amps},
		Sole: &learn.Measured{Point: of(reading.Current, 1), Value: 27.2}})
	require.Contains(t, text, "All currents and powers rest on this one reading, channel 1: 27.2 A; a second one would prove it.")
}

func TestLearnedSaysWhatFitsNothing(t *testing.T) {
	unfit := learn.Unfit{Measured: learn.Measured{Point: reading.Point{Quantity: reading.Current, Index: 1}, Value: 500},
		Reads: 31.42, Found: true, Open: true}
	require.Equal(t, []string{"Measured, but it fits no register: channel 1: 500 A; what was found for it reads 31.42 A, or " +
		"that times a power of ten. Measure it again: a clamp on the conductor that CT 1 is round."},
		UnfitWords(&learn.Result{Unfit: []learn.Unfit{unfit}}))
	unfit.Found, unfit.Open, unfit.Point.Index = false, false, 3
	require.Equal(t, []string{"Measured, but it fits no register: channel 3: 500 A; there is no channel 3 among them. " +
		"Measure it again: a clamp on the conductor that CT 3 is round."},
		UnfitWords(&learn.Result{Unfit: []learn.Unfit{unfit}}))
}

// A meter that refused much isn't taken for one without voltage.
func TestLearnedSaysWhatWasRefused(t *testing.T) {
	busy := Registers{Asked: 5955, Failed: 476, By: link.ServerDeviceFailure}
	require.Contains(t, learnedText(t, busy, &learn.Result{}), "The meter refused 476 of 5955 requests with exception 4 "+
		"(server device failure): what it gave is incomplete. Read again when nothing else asks it.")
	busy.Failed = 3
	require.NotContains(t, learnedText(t, busy, &learn.Result{}), "refused")
}

// On a three-wire delta there is no neutral to measure to.
func TestAMultimeterOnADelta(t *testing.T) {
	on := func(volts float64) string {
		return Question(reading.Point{Quantity: reading.Voltage, Index: 2},
			&learn.Result{Open: []learn.Point{learnedPoint(reading.Voltage, 2, regmap.U16, 0.1, volts, 0.6)}})
	}
	require.Equal(t, "What does your multimeter show between voltage input 2 and neutral, in V?", on(120.4))
	require.Equal(t, "What does your multimeter show between voltage input 2 and neutral (on a three-wire delta: and the "+
		"common input, leg B), in V?", on(240.9))
}

// A conductor taken for another is told by what the other channel reads.
func TestLearnedSaysWhoseReadingItIs(t *testing.T) {
	open := []learn.Point{learnedPoint(reading.Current, 1, regmap.U16, 0.01, 31.4, 0.5),
		learnedPoint(reading.Current, 2, regmap.U16, 0.01, 18.7, 0.5)}
	unfit := learn.Unfit{Measured: learn.Measured{Point: reading.Point{Quantity: reading.Current, Index: 1}, Value: 18.5},
		Reads: 31.4, Found: true}
	require.Contains(t, UnfitWords(&learn.Result{Open: open, Unfit: []learn.Unfit{unfit}})[0],
		"channel 1: 18.5 A; what was found for it reads 31.4 A; it is what channel 2 reads. Measure it again")
	unfit.Point.Quantity, unfit.Value, unfit.Reads = reading.Power, 11_550_000, 11_510
	require.Contains(t, UnfitWords(&learn.Result{Unfit: []learn.Unfit{unfit}})[0], "channel 1: 11550 kW; what was found for it "+
		"reads 11.51 kW")
}

// What speaks against a reading is said, and what of its sign isn't proven.
func TestLearnedSaysWhatSpeaksAgainstIt(t *testing.T) {
	power := regmap.Point{Point: reading.Point{Quantity: reading.Power, Index: 1}, Address: 6, Count: 1, Type: regmap.S16,
		Scale: 1}
	r := &learn.Result{Channels: 1, Points: []learn.Point{{Point: power, Reads: 6691, NoSignSeen: true}}}
	var out bytes.Buffer
	require.NoError(t, Learned(&out, Registers{Image: &image.Image{}}, r, Style{}))
	require.Contains(t, out.String(), "  6691 W\n                  never negative: its sign is not proven\n")

	r.Open, r.Points = r.Points, nil
	r.Doubts = []learn.Doubt{{Kind: learn.NoSign, Point: power.Point, Shown: -6889, Reads: 6691}}
	out.Reset()
	require.NoError(t, Learned(&out, Registers{Image: &image.Image{}}, r, Style{}))
	require.Contains(t, out.String(), "What speaks against it:\n  an instrument shows -6889 W for power.1, and ")
	require.NotContains(t, out.String(), "No single measurement")
	require.Contains(t, out.String(), "look for other registers with --range and --table, or fill in a map")
}
