package surveypage

import (
	"bytes"
	"regexp"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"legwork/cmd/legwork/internal/survey"
	"legwork/diagnose"
	"legwork/probe/reading"
	"legwork/sim"
)

func judged(t *testing.T, name, fault string) survey.Meter {
	p, err := sim.Open("kiln-house", sim.Options{Fault: fault})
	require.NoError(t, err)
	r := diagnose.Diagnose([]reading.Reading{p.At(time.Date(2026, 5, 4, 9, 30, 0, 0, time.UTC))}, diagnose.Options{})
	l := survey.LossOf(&r)
	return survey.Meter{Name: name, Site: "Tidewater", Status: survey.Status(r.Verdict), Summary: r.Summary, Lost: l.Best,
		Low: l.Low, High: l.High, Verdict: &r}
}

func page(t *testing.T, meters ...survey.Meter) string {
	r := &survey.Result{At: time.Date(2026, 5, 4, 9, 30, 0, 0, time.UTC), Complete: true, Listed: len(meters),
		Meters: meters}
	survey.Finish(r, nil)
	var b bytes.Buffer
	require.NoError(t, Write(&b, r))
	return b.String()
}

// Everything that the technician needs is in the page, which needs nothing else.
func TestPage(t *testing.T) {
	text := "no answer"
	out := page(t, judged(t, "kiln-1", ""), judged(t, "kiln-2", "ct2-reversed"), survey.Meter{Name: "kiln-3",
		Status: survey.Unreadable, Summary: text, Error: &text})
	require.Regexp(t, `(?s)kiln-2.*kiln-1.*kiln-3`, out, "most lost power first")
	require.Equal(t, 3, len(regexp.MustCompile(`<details><summary>`).FindAllString(out, -1)))
	require.Equal(t, 2, len(regexp.MustCompile(`<svg class="phasors"`).FindAllString(out, -1)))
	for _, want := range []string{"Turn CT 2 round", "Then, at the same load", "of the true power at this load",
		"Before anything is touched", "no answer"} {
		require.Contains(t, out, want)
	}
	require.NotRegexp(t, `(?i)(src|href)\s*=`, out, "nothing is loaded")
	require.NotContains(t, out, "url(")
	require.Regexp(t, `script-src &#39;sha256-[A-Za-z0-9&#;+/=]+&#39;`, out)
}

func TestHostileNames(t *testing.T) {
	m := judged(t, `<script>alert(1)</script>"'`+"\u202e", "ct1-reversed")
	m.Site = `</style><img onerror=alert(2)>`
	out := page(t, m)
	require.NotContains(t, out, "<script>alert")
	require.NotContains(t, out, "<img")
	require.NotContains(t, out, "\u202e")
}
