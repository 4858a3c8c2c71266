package probe

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"legwork/probe/reading"
)

const kilnLine = `{"at":"2026-05-04T09:30:00Z","service":"120/208Y","channels":[{"voltage":120.1,"current":12.3,"power":1450.0,"reactive":210.0,"angle":8.2,"voltage_angle":0.0},{"voltage":119.8,"current":null}],"frequency":60.0}`

func readAll(name, text string) ([]reading.Reading, error) {
	c, err := NewCapture(name, strings.NewReader(text))
	if err != nil {
		return nil, err
	}
	var all []reading.Reading
	for {
		r, err := c.Next()
		if errors.Is(err, io.EOF) {
			return all, nil
		}
		if err != nil {
			return all, err
		}
		all = append(all, r)
	}
}

func TestCaptureOfTheREADME(t *testing.T) {
	all, err := readAll("kiln.jsonl", kilnLine+"\n\n"+kilnLine+"\r\n")
	require.NoError(t, err)
	require.Len(t, all, 2)
	r := all[0]
	require.Equal(t, time.Date(2026, 5, 4, 9, 30, 0, 0, time.UTC), r.At)
	require.Equal(t, "120/208Y", r.Service)
	require.Equal(t, reading.Known(1450.0), r.Channels[0].Power)
	require.Equal(t, reading.Known(reading.Angle(8.2)), r.Channels[0].Angle)
	require.False(t, r.Channels[1].Current.Known(), "null is unknown")
	require.False(t, r.Channels[1].Angle.Known(), "absent is unknown")
	require.Equal(t, reading.Known(60.0), r.Frequency)
}

func TestCSVSaysTheSame(t *testing.T) {
	all, err := readAll("kiln.csv", "\xEF\xBB\xBFat,service,voltage.1,current.1,power.1,angle.1,voltage.2,pf.2,pf_sign.2,line_voltage.12,model\r\n"+
		"2026-05-04T09:30:00Z,120/208Y,120.1,12.3,1450,368.2,119.8,-0.9,lag,208.1,\"three, elements\"\r\n")
	require.NoError(t, err)
	require.Len(t, all, 1)
	require.Equal(t, reading.Known(reading.Degrees(8.2)), all[0].Channels[0].Angle.Map(func(a reading.Angle) reading.Angle {
		return reading.Angle(float64(int(a*10+0.5)) / 10)
	}))
	require.Equal(t, reading.SignTellsLagging, all[0].Channels[1].PowerFactorSign)
	require.False(t, all[0].Channels[1].Current.Known())
	require.Equal(t, reading.Known(208.1), all[0].LineVoltages[0])
	require.Equal(t, "three, elements", all[0].Model)
}

func TestBadCapturesSayWhere(t *testing.T) {
	for name, c := range map[string]struct{ text, want string }{
		"empty":          {"", "f: there are no readings in it; save one with `legwork read METER --save FILE`"},
		"only blanks":    {"\n \n", "f: there are no readings in it; save one with `legwork read METER --save FILE`"},
		"not a capture":  {"hello\n", `f:1: column "hello" is not a point`},
		"broken JSON":    {kilnLine + "\n{\"at\":\n" + kilnLine + "\n", "f:2: not JSON: unexpected EOF"},
		"cut last line":  {kilnLine + "\n" + kilnLine[:60], "f:2: the last line was cut off; take it out, or use the 1 before it"},
		"two on a line":  {kilnLine + kilnLine + "\n", "f:1: something stands after the reading; write one reading a line"},
		"unknown field":  {`{"at":"2026-05-04T09:30:00Z","channels":[{"curent":1}]}` + "\n", `f:1: "curent" is not known here; did you mean current?`},
		"text for watts": {`{"at":"2026-05-04T09:30:00Z","channels":[{"power":"1 kW"}]}` + "\n", `f:1: "channels.power" holds a string where a number or text of another kind belongs`},
		"no time":        {`{"channels":[{"power":1}]}` + "\n", "f:1: the reading has no time; give `at`, such as 2026-05-04T09:30:00Z"},
		"no channels":    {`{"at":"2026-05-04T09:30:00Z","channels":[]}` + "\n", "f:1: the reading has no channels"},
		"four channels":  {`{"at":"2026-05-04T09:30:00Z","channels":[{},{},{},{}]}` + "\n", "f:1: the reading has 4 channels; a meter of this kind has at most 3"},
		"time goes back": {kilnLine + "\n" + strings.Replace(kilnLine, "09:30", "09:29", 1) + "\n",
			"f:2: its time 2026-05-04T09:29:00Z is before that of the reading above; a capture is of one meter, in order of time"},
		"huge number":     {`{"at":"2026-05-04T09:30:00Z","channels":[{"power":1e999}]}` + "\n", `f:1: "channels.power" holds a number 1e999 where a number or text of another kind belongs`},
		"CSV near name":   {"at,volts.1\n", `f:1: column "volts.1" is not a point; did you mean voltage.1?`},
		"CSV twice":       {"at,power.1,power.1\n", `f:1: column "power.1" stands twice`},
		"CSV short row":   {"at,power.1\n2026-05-04T09:30:00Z\n", "f:2: 1 fields, but the header has 2"},
		"CSV NaN":         {"at,power.1\n2026-05-04T09:30:00Z,NaN\n", `f:2: power.1: "NaN" is not a finite number; leave the field empty where a value isn't known`},
		"CSV bad time":    {"at,power.1\nyesterday,1\n", `f:2: at: "yesterday" is not a time such as 2026-05-04T09:30:00Z`},
		"CSV no channels": {"at,frequency\n", "f:1: this is neither a line of JSON nor a CSV header with `at` and points such as voltage.1"},
		"CSV bad sign":    {"at,pf.1,pf_sign.1\n2026-05-04T09:30:00Z,1,yes\n", `f:2: pf_sign.1: pf_sign "yes" is not one of none, power, lag`},
		"very long line":  {`{"at":"` + strings.Repeat("x", 2<<20), "f:1: a line has over 1048576 bytes; is it a capture?"},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := readAll("f", c.text)
			require.EqualError(t, err, c.want)
		})
	}
}

func TestCutCaptureGivesTheGoodOnesFirst(t *testing.T) {
	all, err := readAll("f", kilnLine+"\n"+kilnLine+"\n"+kilnLine[:100])
	require.ErrorContains(t, err, "cut off")
	require.Len(t, all, 2)
}

// drawReading makes a reading with some quantities unknown.
func drawReading(t *rapid.T) reading.Reading {
	r := reading.Reading{At: time.Unix(rapid.Int64Range(0, 4e9).Draw(t, "at"), 0).UTC(), Service: rapid.SampledFrom([]string{"", "120/240"}).Draw(t, "service")}
	r.Channels = make([]reading.Channel, rapid.IntRange(1, 3).Draw(t, "channels"))
	for _, p := range reading.Points() {
		if p.Quantity.IsText() {
			r.SetText(p, rapid.SampledFrom([]string{"", "A-1", `quoted "x", y`}).Draw(t, p.String()))
		} else if rapid.Bool().Draw(t, p.String()+" known") {
			r.SetNumber(p, reading.Known(rapid.Float64Range(-1e6, 1e6).Draw(t, p.String())))
		}
	}
	for k := range r.Channels {
		r.Channels[k].PowerFactorSign = reading.PowerFactorSign(rapid.IntRange(0, 2).Draw(t, "sign"))
		r.Channels[k].ReactiveUnsigned = rapid.Bool().Draw(t, "unsigned")
	}
	return r
}

func TestWhatIsWrittenIsReadBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := drawReading(t)
		var b bytes.Buffer
		if err := NewCaptureWriter(&b).Write(r); err != nil {
			t.Fatal(err)
		}
		all, err := readAll("f", b.String())
		if err != nil || len(all) != 1 {
			t.Fatalf("%v, %d readings from %s", err, len(all), &b)
		}
		if want, got := fmt.Sprintf("%+v", r), fmt.Sprintf("%+v", all[0]); want != got {
			t.Fatalf("wrote %s, read %s", want, got)
		}
	})
}

func FuzzCapture(f *testing.F) {
	f.Add(kilnLine)
	f.Add("at,service,voltage.1,current.1\n2026-05-04T09:30:00Z,x,1,\n")
	f.Add("{\"at\":\"2026-05-04T09:30:00Z\",\"channels\":[{\"angle\":1e300}]}\n{")
	f.Fuzz(func(t *testing.T, text string) {
		all, err := readAll("f", text)
		if err != nil { // law 1: an error is one line that begins with the file
			require.True(t, strings.HasPrefix(err.Error(), "f:"), err)
		}
		for _, r := range all { // law 2: what is read is in range and can be written
			require.LessOrEqual(t, len(r.Channels), reading.MaxChannels)
			for _, c := range r.Channels {
				require.LessOrEqual(t, c.Angle.Or(0).Abs(), 180.0)
			}
			require.NoError(t, NewCaptureWriter(io.Discard).Write(r))
		}
	})
}

func BenchmarkCaptureDay(b *testing.B) {
	day := strings.Repeat(kilnLine+"\n", 86_400)
	b.ReportAllocs()
	for b.Loop() {
		if all, err := readAll("f", day); err != nil || len(all) != 86_400 {
			b.Fatal(err)
		}
	}
}
