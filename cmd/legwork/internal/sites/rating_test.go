package sites

import (
	"testing"

	"github.com/stretchr/testify/require"

	"legwork/diagnose"
	"legwork/probe/reading"
)

func TestCheckRating(t *testing.T) {
	for _, c := range []struct {
		listed float64
		set    reading.Value
		want   diagnose.Verdict
	}{
		{200, reading.Known(200.0), diagnose.Agrees},
		{200, reading.Known(201.0), diagnose.Agrees},
		{200, reading.Known(100.0), diagnose.Undecided},
		{200, reading.Value{}, diagnose.Agrees},
		{0, reading.Known(100.0), diagnose.Agrees},
	} {
		v := diagnose.Result{Verdict: diagnose.Agrees}
		(&Site{CTPrimary: c.listed}).CheckRating(&reading.Reading{CTPrimary: c.set}, &v)
		require.Equal(t, c.want, v.Verdict)
		require.Equal(t, c.want == diagnose.Undecided, len(v.DataFaults) == 1)
	}
	v := diagnose.Result{Verdict: diagnose.Fault, Summary: "x"}
	(&Site{CTPrimary: 50}).CheckRating(&reading.Reading{CTPrimary: reading.Known(100.0)}, &v)
	require.Equal(t, diagnose.Fault, v.Verdict)
	require.Equal(t, "x", v.Summary)
}
