package screen

import (
	"bytes"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"legwork/cmd/legwork/internal/record"
	"legwork/diagnose"
	"legwork/diagnose/asleft"
	"legwork/probe/reading"
)

func TestARecordOnTheScreen(t *testing.T) {
	verdict := diagnose.Diagnose([]reading.Reading{kiln(true, 20, -155, 30)}, diagnose.Options{Tables: tables})
	log := &record.Log{Findings: []string{"entry 2 was edited (line 2)"}, Remarks: []string{"a clock was set"},
		Entries: []record.Sealed{
			{Entry: record.Entry{Number: 1, Kind: record.AsFound, At: time.Date(2026, 5, 4, 9, 30, 0, 0, time.UTC),
				Verdict:  &verdict,
				Compared: []record.Compared{{Channel: 1, Outcome: asleft.LoadChanged}}}, Seal: record.Seal(nil)},
			{Entry: record.Entry{Number: 2, Kind: record.Note, Remarks: []string{"\x1b[2Jgone\nnext"},
				Reads: []record.Read{{Text: "208 V"}}}, Seal: record.Seal([]byte("2"))},
		}}
	var b bytes.Buffer
	require.NoError(t, Record(&b, log, Style{}))
	require.Equal(t, `CHANGED  entry 2 was edited (line 2)
note: a clock was set

1  2026-05-04 09:30:00 UTC  as-found  seal e3b0c44298fc1c14
     FAULT: CT 2 is reversed (99.6 %).
     0 readings
     channel 1: another load, not compared

2  0001-01-01 00:00:00 UTC  note  seal d4735e3a265e16ee
     read: 208 V
     remark: \u001b[2Jgone next
`, b.String())
}

func TestPredictionsOnTheScreen(t *testing.T) {
	var b bytes.Buffer
	require.NoError(t, Compared(&b, nil, Style{}))
	require.Empty(t, b.String())
	require.NoError(t, Compared(&b, []record.Compared{
		{Channel: 1, AtLoad: reading.Known(10490.0), Power: reading.Known(10480.0),
			ExpectAngle: reading.Known(reading.Angle(3)), Angle: reading.Known(reading.Angle(3.1)),
			Outcome: asleft.Met},
		{Channel: 2, AtLoad: reading.Known(-0.4), Outcome: asleft.NotRead},
	}, Style{ASCII: true}))
	require.Equal(t, `
Predicted against read
  channel  predicted kW      read  predicted lag      read  outcome
        1         10.49     10.48        3.0 deg   3.1 deg  as predicted
        2         0.000         -          - deg     - deg  not read
`, b.String())
}
